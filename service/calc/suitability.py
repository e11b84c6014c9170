"""Judge whether the barrier can be fitted on a roof in this way: a verdict with its reasons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from service.calc.clearance import judge
from service.calc.trace import Step
from service.errors import GapwrightError
from service.facts import SITE_FLAGS, Covering, Racking, Site
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.lookup import Hit, match
from service.rulesets.vocabulary import TABLES, VERDICTS

_TIGHT = ("values.tight_spot_drop", "values.tight_spot_share")


class Reason(msgspec.Struct, frozen=True, kw_only=True):
    """Why a verdict stands: the row of the rule set's table that matched, and what to do."""

    verdict: str
    reason: str
    remedy: str
    rule: str
    because: tuple[str, ...]
    """Each condition that was met, with the value that was compared."""


class Guess(msgspec.Struct, frozen=True, kw_only=True):
    """The clearance [nm] that is taken where nobody has measured, and the rule that says so."""

    nm: int
    rule: str


class Suitability(msgspec.Struct, frozen=True, kw_only=True):
    """The gravest verdict of all reasons, the attachment, and what had to be assumed."""

    verdict: str
    attachment: str
    shape: str
    note: str
    reasons: tuple[Reason, ...]
    assumed: tuple[tuple[str, Any], ...]
    facts: dict[str, Any]
    trace: tuple[Step, ...]


def judge_site(
    covering: Covering,
    racking: Racking,
    readings_nm: Sequence[int],
    site: Site,
    rules: RuleSet,
) -> Suitability:
    """Return the verdict of the rule set's tables on a site with one array.

    Without readings the rule set's usual clearance is taken, and flags that were not told are
    taken as false; both are listed in `assumed`.
    """
    return judge_arrays(covering, racking, (readings_nm,) if readings_nm else (), site, rules)


def judge_arrays(
    covering: Covering,
    racking: Racking,
    arrays: Sequence[Sequence[int]],
    site: Site,
    rules: RuleSet,
    guess: Guess | None = None,
) -> Suitability:
    """Return the verdict on a site with several arrays, each with its own readings [nm].

    The table is asked for the largest reading of each array, and again for its tightest one that
    counts, since the strip must cover the one and the channel go in at the other. Arrays are never
    read together: what is a tight spot among the readings of all can be the whole of one.
    `guess` is what was taken for the arrays that are not among them.
    """
    if guess is None and not arrays:
        guess = Guess(nm=rules.values.usual_clearance, rule="values.usual_clearance")
    told = {flag: getattr(site, flag) for flag in SITE_FLAGS}
    groups = [*arrays, *([(guess.nm,)] if guess else [])]
    judged = [judge(readings, rules.values) for readings in groups]
    largest = sorted({int(one.governing_nm) for one in judged}, reverse=True)
    tightest = sorted({int(one.tightest_nm) for one in judged})
    facts: dict[str, Any] = {
        "covering": covering,
        "racking": racking,
        "clearance": largest[0],
        "measured": guess is None,
        **{flag: bool(value) for flag, value in told.items()},
    }
    cites = _TIGHT if any(len(readings) > 1 for readings in groups) else ()
    return _judged(
        facts,
        (*largest, *tightest),
        _assumed(told, guess),
        (*cites, *((guess.rule,) if guess else ())),
        rules,
    )


def _judged(
    facts: dict[str, Any],
    clearances: Sequence[int],
    assumed: tuple[tuple[str, Any], ...],
    cites: tuple[str, ...],
    rules: RuleSet,
) -> Suitability:
    found: dict[str, Hit] = {}
    for clearance in dict.fromkeys(clearances):
        for hit in _rows(rules, "suitability", {**facts, "clearance": clearance}):
            found.setdefault(hit.row.id, hit)
    reasons = sorted(map(_reason, found.values()), key=lambda r: VERDICTS.index(r.verdict))
    held = _rows(rules, "attachment", facts)[0]
    then: Any = held.row.then
    return Suitability(
        verdict=reasons[0].verdict,
        attachment=then["attachment"],
        shape=then["shape"],
        note=then.get("note", ""),
        reasons=tuple(reasons),
        assumed=assumed,
        facts=facts,
        trace=_trace(reasons, _rule("attachment", held), cites, bool(facts["measured"])),
    )


def _trace(
    reasons: list[Reason], held: str, cites: tuple[str, ...], measured: bool
) -> tuple[Step, ...]:
    decided = (*(reason.rule for reason in reasons), *cites)
    return (
        Step("/verdict", decided),
        Step("/reasons", decided),
        *(Step(figure, (held,)) for figure in ("/attachment", "/shape", "/note")),
        *(() if measured else (Step("/assumptions", cites[-1:]),)),
    )


def _rows(rules: RuleSet, table: str, facts: dict[str, Any]) -> tuple[Hit, ...]:
    """Return the rows of a table that decide; a table that was proved always has one."""
    asked = rules.tables[table]
    hits = match(asked, {name: facts[name] for name in TABLES[table].inputs})
    if not hits:
        raise GapwrightError(f"{rules.name}: no row of the table {table} matches.")
    return hits


def _reason(hit: Hit) -> Reason:
    then: Any = hit.row.then
    return Reason(
        verdict=then["verdict"],
        reason=then["reason"],
        remedy=then.get("remedy", ""),
        rule=_rule("suitability", hit),
        because=hit.reasons,
    )


def _rule(table: str, hit: Hit) -> str:
    return f"tables.{table}.rows.{hit.row.id}"


def _assumed(told: dict[str, bool | None], guess: Guess | None) -> tuple[tuple[str, Any], ...]:
    flags = tuple((flag, False) for flag, value in told.items() if value is None)
    return (("clearance", guess.nm), *flags) if guess else flags
