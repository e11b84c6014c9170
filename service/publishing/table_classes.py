"""Whether a changed table, one of its rows or their order is stricter, looser or neutral."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from service.publishing.strictness import Classed, either, order, worst
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.lookup import CompiledTable, compile_table
from service.rulesets.tables.model import Box, Condition, HitPolicy, Range, Row
from service.rulesets.tables.proof import axes_of, deciding
from service.rulesets.vocabulary import TABLES, VERDICTS, TableShape

_OPEN = "undecided"
"""What a table says that leaves the decision to a survey."""


def row_class(path: tuple[str, ...], before: RuleSet, after: RuleSet) -> Classed:
    """Return how a table changed at a row.

    A row that is dropped, milder, or matches less of what had a grave verdict, is looser, and so is
    one that decides what was left to a survey. Of a table without verdicts, other rows are neutral.
    """
    if len(path) < 4:
        return "wording" if path[-1] == "means" else "neutral"
    shape = TABLES[path[1]]
    old, new = (_row(path, rules) for rules in (before, after))
    if "verdict" not in shape.outputs:
        return _other_class(old, new, shape)
    if old is None or new is None:
        there = old or new
        if there is None or there.output_value == "suitable":
            return "neutral"
        return "stricter" if old is None else "looser"
    ranks = [VERDICTS.index(str(row.output_value)) for row in (old, new)]
    matched = either(not _within(new.when, old.when), not _within(old.when, new.when))
    return worst([order(ranks[1], ranks[0]), matched])


def order_class(table: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return what it changes that rows of a table stand in another order.

    Exact: in every cell the row that decides is compared with the one that would decide in the old
    order. Where all rows that match have a say, only the order of reasons changes.
    """
    now = after.tables[table].table
    if now.policy in (HitPolicy.COLLECT, HitPolicy.UNIQUE):
        return "neutral"
    was = {row.id: at for at, row in enumerate(before.tables[table].table.rows)}
    rows = tuple(sorted(now.rows, key=lambda row: was.get(row.id, len(was))))
    new, old = (compile_table(msgspec.structs.replace(now, rows=r)) for r in (now.rows, rows))
    pairs = set(zip(_deciding(old), _deciding(new), strict=True))
    changed = [(old.rows[one], new.rows[other]) for one, other in pairs]
    return worst(
        [
            "neutral",
            *(_cell_class(*pair, TABLES[table]) for pair in changed if pair[0].id != pair[1].id),
        ]
    )


def _deciding(table: CompiledTable) -> list[int]:
    """Return which row decides in each cell; a proved table always has one."""
    decided: list[int] = deciding(axes_of(table), len(table.rows)).ravel().tolist()
    return decided


def _cell_class(old: Row, new: Row, shape: TableShape) -> Classed:
    """Return how the decision of one cell changed."""
    if "verdict" in shape.outputs:
        ranks = [VERDICTS.index(str(row.output_value)) for row in (old, new)]
        return order(ranks[1], ranks[0])
    return _output_class(old, new, shape)


def _other_class(old: Row | None, new: Row | None, shape: TableShape) -> Classed:
    """Return how a row changed in a table that gives no verdict."""
    if old is None or new is None:
        return "neutral"
    moved: Classed = "wording" if old.when == new.when else "neutral"
    return worst([moved, _output_class(old, new, shape)])


def _output_class(old: Row, new: Row, shape: TableShape) -> Classed:
    """Return how what a row says changed; of free text only the words do."""
    decided = [row.output_value != _OPEN for row in (old, new)]
    if decided[0] != decided[1]:
        return "looser" if decided[1] else "stricter"
    before, after = (_chosen(row.then, shape) for row in (old, new))
    return "wording" if before == after else "neutral"


def _chosen(then: Any, shape: TableShape) -> dict[str, str]:  # noqa: ANN401
    """Return the outputs of a row that are one of a table's own words."""
    said: Mapping[str, str] = then
    return {name: text for name, text in said.items() if shape.outputs[name]}


def _row(path: tuple[str, ...], rules: RuleSet) -> Row | None:
    rows = rules.tables[path[1]].table.rows
    return next((row for row in rows if row.id == path[3]), None)


def _within(one: Box, other: Box) -> bool:
    """Return whether all that a row with conditions `one` matches, `other` matches as well."""
    return all(name in one and _part(one[name], wanted) for name, wanted in other.items())


def _part(one: Condition, other: Condition) -> bool:
    if isinstance(one, Range) and isinstance(other, Range):
        starts = other.least is None or (one.least is not None and one.least >= other.least)
        ends = other.below is None or (one.below is not None and one.below <= other.below)
        return starts and ends
    return isinstance(one, frozenset) and isinstance(other, frozenset) and one <= other
