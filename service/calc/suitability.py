"""Judge whether the barrier can be fitted on a roof in this way: a verdict with its reasons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from service.calc.trace import Step
from service.facts import SITE_FLAGS, Covering, Racking, Site
from service.rulesets.ruleset import RuleSet
from service.rulesets.tables import Row, match
from service.rulesets.vocabulary import VERDICTS


class Reason(msgspec.Struct, frozen=True, kw_only=True):
    """Why a verdict stands: the row of the rule set's table that matched, and what to do."""

    verdict: str
    reason: str
    remedy: str
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
    """Return the verdict of the rule set's tables on a site.

    The largest reading stands for the clearance. Without readings the rule set's usual clearance
    does, and flags that were not told are taken as false; both are listed in `assumed`.
    """
    told = {flag: getattr(site, flag) for flag in SITE_FLAGS}
    clearance = max(readings_nm) if readings_nm else rules.values.usual_clearance
    facts: dict[str, Any] = {
        "covering": covering,
        "racking": racking,
        "clearance": clearance,
        "measured": bool(readings_nm),
        **{flag: bool(value) for flag, value in told.items()},
    }
    return _judged(facts, _assumed(told, readings_nm, clearance), rules)


def _judged(
    facts: dict[str, Any], assumed: tuple[tuple[str, Any], ...], rules: RuleSet
) -> Suitability:
    rows = match(rules.tables["suitability"], facts)
    reasons = sorted((_reason(row) for row in rows), key=lambda r: VERDICTS.index(r.verdict))
    held = match(rules.tables["attachment"], facts)[0]
    return Suitability(
        verdict=reasons[0].verdict,
        attachment=held.then["attachment"],
        shape=held.then["shape"],
        note=held.then.get("note", ""),
        reasons=tuple(reasons),
        assumed=assumed,
        facts=facts,
        trace=(
            Step("/verdict", tuple(reason.rule for reason in reasons)),
            Step("/attachment", (_rule("attachment", held),)),
        ),
    )


def _reason(row: Row) -> Reason:
    return Reason(
        verdict=row.then["verdict"],
        reason=row.then["reason"],
        remedy=row.then.get("remedy", ""),
        rule=_rule("suitability", row),
    )


def _rule(table: str, row: Row) -> str:
    return f"tables.{table}.rows.{row.id}"


def _assumed(
    told: dict[str, bool | None], readings_nm: Sequence[int], clearance: int
) -> tuple[tuple[str, Any], ...]:
    flags = tuple((flag, False) for flag, value in told.items() if value is None)
    return flags if readings_nm else (("clearance", clearance), *flags)
