"""Mutants: a rule set with one threshold moved by a hair, or one row or line left out.

A published file must hold examples that tell each of them from the rule set itself: on each limit
and just past it. What no example tells is a limit that nobody has looked at.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import partial

import msgspec

from service.publishing.bill_mutants import bill_mutants
from service.publishing.mutant import HAIR_NM, Mutant
from service.publishing.quoting import asked, quoting_mutants
from service.publishing.value_mutants import value_mutants
from service.publishing.zone_mutants import zone_mutants
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.lookup import compile_table
from service.rulesets.tables.model import Row


def mutants(rules: RuleSet, laid_out: Collection[str] = ()) -> Iterator[Mutant]:
    """Yield the rule set with each value, bill line and table row changed a little, in turn.

    Of the values that only layouts take, those that `laid_out` names are changed: `values.lap` and
    `zones.exposed.values.lap`.
    """
    yield from value_mutants(rules, laid_out)
    yield from bill_mutants(rules)
    yield from zone_mutants(rules, laid_out)
    yield from _table_mutants(rules)
    if asked(rules):
        yield from quoting_mutants(rules)


def _table_mutants(rules: RuleSet) -> Iterator[Mutant]:
    for name, compiled in rules.tables.items():
        for at, row in enumerate(compiled.table.rows):
            for changed, other in ((f"the row {row.id} is left out", None), *_moved_ends(row)):
                yield Mutant(
                    path=("tables", name, "rows", row.id),
                    changed=changed,
                    touches=(f"tables.{name}.",),
                    make=partial(_with_row, rules, name, at, other),
                )


def _with_row(rules: RuleSet, name: str, at: int, row: Row | None) -> RuleSet:
    """Return the rule set with another row in a row's place, or none."""
    table = rules.tables[name].table
    rows = (*table.rows[:at], *((row,) if row else ()), *table.rows[at + 1 :])
    compiled = compile_table(msgspec.structs.replace(table, rows=rows))
    return msgspec.structs.replace(rules, tables={**rules.tables, name: compiled})


def _moved_ends(row: Row) -> Iterator[tuple[str, Row]]:
    """Yield the row with each end of each of its ranges moved by a hair, both ways."""
    for name, condition in row.when.items():
        if not isinstance(condition, tuple):
            continue
        for at, part in enumerate(condition):
            for end in ("least", "below"):
                limit = getattr(part, end)
                for hair in (-HAIR_NM, HAIR_NM) if limit is not None else ():
                    other = msgspec.structs.replace(part, **{end: limit + hair})
                    ranges = (*condition[:at], other, *condition[at + 1 :])
                    way = "more" if hair > 0 else "less"
                    changed = f"{name} of the row {row.id} goes from or to a hair {way}"
                    when = {**row.when, name: ranges}
                    yield changed, msgspec.structs.replace(row, when=when)
