"""Judge whether the barrier can be fitted on a roof in this way: a verdict with its reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from service.calc.clearance import judge
from service.calc.trace import Step
from service.errors import GapwrightError
from service.facts import SITE_FLAGS, Covering, Racking, Site
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables.lookup import Hit, match
from service.rulesets.vocabulary import TABLES, VERDICTS


class Reason(msgspec.Struct, frozen=True, kw_only=True):
    """Why a verdict stands: the row of the rule set's table that matched, and what to do."""

    verdict: str
    reason: str
    remedy: str
    rule: str
    because: tuple[str, ...]
    """Each condition that was met, with the value that was compared."""


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
    assumed_nm: int | None = None,
) -> Suitability:
    """Return the verdict of the rule set's tables on a site.

    The table is asked for the largest reading, and again for the tightest one that counts, since
    the strip must cover the one and the channel go in at the other. Without readings
    `assumed_nm` is taken, or else the rule set's usual clearance, and flags that were not told are
    taken as false; both are listed in `assumed`.
    """
    told = {flag: getattr(site, flag) for flag in SITE_FLAGS}
    usual = rules.values.usual_clearance if assumed_nm is None else assumed_nm
    judged = judge(readings_nm or (usual,), rules.values)
    clearance = int(judged.governing_nm)
    facts: dict[str, Any] = {
        "covering": covering,
        "racking": racking,
        "clearance": clearance,
        "measured": bool(readings_nm),
        **{flag: bool(value) for flag, value in told.items()},
    }
    assumed = _assumed(told, readings_nm, clearance)
    return _judged(facts, int(judged.tightest_nm), assumed, len(readings_nm) > 1, rules)


def _judged(
    facts: dict[str, Any],
    tightest: int,
    assumed: tuple[tuple[str, Any], ...],
    several: bool,
    rules: RuleSet,
) -> Suitability:
    found = {hit.row.id: hit for hit in _rows(rules, "suitability", facts)}
    tight = _rows(rules, "suitability", {**facts, "clearance": tightest})
    hits = [*found.values(), *(hit for hit in tight if hit.row.id not in found)]
    reasons = sorted((_reason(hit) for hit in hits), key=lambda r: VERDICTS.index(r.verdict))
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
        trace=_trace(reasons, _rule("attachment", held), _asked(facts, several)),
    )


def _asked(facts: Mapping[str, Any], several: bool) -> tuple[str, ...]:
    """Return the values that the clearance follows from which the tables were asked for."""
    if not facts["measured"]:
        return ("values.usual_clearance",)
    return ("values.tight_spot_drop", "values.tight_spot_share") if several else ()


def _trace(reasons: list[Reason], held: str, asked: tuple[str, ...]) -> tuple[Step, ...]:
    decided = (*(reason.rule for reason in reasons), *asked)
    usual = tuple(rule for rule in asked if rule == "values.usual_clearance")
    return (
        Step("/verdict", decided),
        Step("/reasons", decided),
        *(Step(figure, (held,)) for figure in ("/attachment", "/shape", "/note")),
        *((Step("/assumptions", usual),) if usual else ()),
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
        because=tuple(reason.text for reason in hit.reasons),
    )


def _rule(table: str, hit: Hit) -> str:
    return f"tables.{table}.rows.{hit.row.id}"


def _assumed(
    told: dict[str, bool | None], readings_nm: Sequence[int], clearance: int
) -> tuple[tuple[str, Any], ...]:
    flags = tuple((flag, False) for flag, value in told.items() if value is None)
    return flags if readings_nm else (("clearance", clearance), *flags)
