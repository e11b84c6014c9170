"""Judge whether the barrier can be fitted on a roof in this way: a verdict with its reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal, cast

import msgspec

from gapwright.calc.clearance import judge
from gapwright.errors import GapwrightError
from gapwright.facts import SITE_FLAGS, Attachment, Covering, Racking, Site
from gapwright.quantity import show
from gapwright.quantity.output import SectionUp
from gapwright.quantity.show import System
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.tables import Hit, Range, Row, match, meets
from gapwright.rulesets.vocabulary import TABLES, VERDICTS

Verdict = Literal["suitable", "conditional", "unsuitable", "survey"]


class Reason(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One reason of a verdict, its remedy, and the rule behind it.

    `code` is the name of the row of the suitability table. `conditions` has each condition that
    was met, with the value that was compared.
    """

    code: str
    """The name of the row of the suitability table."""
    verdict: Verdict
    """The verdict that this reason leads to."""
    text: str
    """The reason as a sentence."""
    remedy: str | None
    """What would change it, or null."""
    price: Literal["given", "withheld"]
    """`withheld`: no price may be given while this reason applies."""
    rule: str
    """The entry of the rule set that it follows from, by its dotted path."""
    conditions: tuple[str, ...]
    """Each condition that was met, with the value that was compared."""


class AssumedValue(SectionUp):
    """An assumed clearance [nm], or False: assumed absent."""

    __slots__ = ()
    wire = bool | show.Length

    def encoded(self, system: System) -> Any:  # noqa: ANN401 - a length or a boolean
        """Return the length or the boolean."""
        return super().encoded(system) if self.amount else False


class AssumedFact(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A fact that the request left out, and what is assumed."""

    fact: str
    """The request member that was left out, by its name."""
    assumed: AssumedValue
    """What is assumed: a clearance, or false for a finding."""


class SuitabilityResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The verdict, what the channel is attached to, and why.

    The verdict is the most severe of the reasons, which are listed most severe first.
    """

    verdict: Verdict
    """The most severe verdict of the reasons."""
    attachment: Attachment
    """What the channel is attached to."""
    shape: Literal["C", "L", "C or L", "undecided"]
    """The shape of the channel's section."""
    note: str | None
    """A note on the attachment, or null."""
    reasons: tuple[Reason, ...]
    """The reasons, the most severe first."""
    assumptions: tuple[AssumedFact, ...]
    """What was assumed for members that were left out."""


class Suitability(msgspec.Struct, frozen=True, kw_only=True):
    """A verdict, and the facts of the site that cautions and bill lines go by."""

    facts: dict[str, Any]
    reasons: Figure[tuple[Reason, ...]]
    attachment: Figure[Any]
    assumed_nm: Figure[int] | None
    missing_flags: tuple[str, ...]

    @property
    def price_withheld(self) -> bool:
        """Return whether a reason allows no price."""
        return any(one.price == "withheld" for one in self.reasons.value)

    @property
    def verdict(self) -> Verdict:
        """Return the most severe verdict of all reasons."""
        return self.reasons.value[0].verdict

    def result(self, rules: RuleSet) -> SuitabilityResult:
        """Return the verdict for an answer."""
        reasons = rules.show("/reasons", self.reasons)
        rules.show("/verdict", self.reasons)
        assumptions = [
            AssumedFact(fact=flag, assumed=AssumedValue(False)) for flag in self.missing_flags
        ]
        if self.assumed_nm is not None:
            clearance = AssumedValue(rules.show("/assumptions", self.assumed_nm))
            assumptions.insert(0, AssumedFact(fact="clearance", assumed=clearance))
        held = rules.show("/attachment", self.attachment)
        return SuitabilityResult(
            verdict=self.verdict,
            attachment=held["attachment"],
            shape=rules.show("/shape", self.attachment)["shape"],
            note=rules.show("/note", self.attachment).get("note") or None,
            reasons=reasons,
            assumptions=tuple(assumptions),
        )


def judge_site(
    roof_covering: Covering,
    racking: Racking,
    arrays: Sequence[Sequence[int]],
    site: Site,
    rules: RuleSet,
    assumed_nm: Figure[int] | None = None,
) -> Suitability:
    """Return the verdict on a site with several arrays, each with its own readings [nm].

    The table is asked for the largest reading of each array, and again for its smallest one that
    counts, since the strip must cover the one and the channel go in at the other. Arrays are never
    read together: what is a tight spot among the readings of all can be the whole of one.
    `assumed_nm` is the clearance assumed for arrays without readings; where there are no readings
    at all, it is the rule set's usual one. Flags that are not given are taken as false.
    """
    if assumed_nm is None and not arrays:
        assumed_nm = rules.figure(lambda: rules.values.default_clearance)
    given = {flag: getattr(site, flag) for flag in SITE_FLAGS}
    facts: dict[str, Any] = {
        "roof_covering": roof_covering,
        "racking": racking,
        "clearance": 0,
        "measured": assumed_nm is None,
        **{flag: bool(value) for flag, value in given.items()},
    }

    def clearances() -> list[int]:
        groups = [*arrays, *([(assumed_nm.value,)] if assumed_nm else [])]
        judged = [judge(readings, rules.values) for readings in groups]
        largest = sorted({one.governing.nm for one in judged}, reverse=True)
        return list(dict.fromkeys((*largest, *sorted({one.smallest.nm for one in judged}))))

    compared = rules.figure(clearances)
    facts["clearance"] = compared.value[0]
    return Suitability(
        facts=facts,
        reasons=rules.figure(lambda: _reasons(rules, facts, compared.value)),
        attachment=attachment_of(roof_covering, racking, rules),
        assumed_nm=assumed_nm,
        missing_flags=tuple(flag for flag, value in given.items() if value is None),
    )


def attachment_of(
    roof_covering: Covering, racking: Racking, rules: RuleSet
) -> Figure[Mapping[str, Any]]:
    """Return what the channel is attached to: `attachment`, `shape` and perhaps a `note`."""
    facts = {"roof_covering": roof_covering, "racking": racking}

    def decided() -> Mapping[str, Any]:
        return cast("Mapping[str, Any]", _rows(rules, "attachment", facts)[0].row.then)

    return rules.figure(decided)


def attached_to(roof_covering: Covering, racking: Racking, rules: RuleSet) -> Figure[Attachment]:
    """Return the attachment alone."""
    decided = attachment_of(roof_covering, racking, rules)

    def attachment() -> Attachment:
        found: Attachment = decided.value["attachment"]
        return found

    return rules.figure(attachment)


def roof_facts(roof_covering: Covering, racking: Racking, rules: RuleSet) -> dict[str, Any]:
    """Return the facts of a roof that bill lines and cautions go by; an unknown one is left out."""
    facts = {"racking": racking, "attachment": attached_to(roof_covering, racking, rules)}
    return facts if roof_covering == "unknown" else {**facts, "roof_covering": roof_covering}


def _reasons(
    rules: RuleSet, facts: Mapping[str, Any], clearances: Sequence[int]
) -> tuple[Reason, ...]:
    """Return the reasons that apply to any of the clearances, most severe first."""
    found: dict[str, Hit] = {}
    for clearance in clearances:
        for hit in _rows(rules, "suitability", {**facts, "clearance": clearance}):
            found.setdefault(hit.row.id, hit)
    reasons = map(_reason, found.values())
    return tuple(sorted(reasons, key=lambda reason: VERDICTS.index(reason.verdict)))


def _reason(hit: Hit) -> Reason:
    then: Any = hit.row.then
    return Reason(
        code=hit.row.id,
        verdict=then["verdict"],
        text=then["text"],
        remedy=then.get("remedy") or None,
        price="withheld" if then["verdict"] == "unsuitable" else then.get("price", "given"),
        rule=f"tables.suitability.rows.{hit.row.id}",
        conditions=hit.reasons,
    )


def _rows(rules: RuleSet, table: str, facts: Mapping[str, Any]) -> tuple[Hit, ...]:
    """Return the rows of a table that decide; a table that was proved always has one."""
    asked = rules.tables[table]
    inputs = {name: facts[name] for name in TABLES[table].inputs}
    hits = match(asked, inputs)
    if not hits:
        raise GapwrightError(f"{rules.name}: no row of the table {table} matches.")
    if rules.recorder is not None:
        rules.recorder.read(f"tables.{table}.rows.{row.id}" for row in _read(asked.rows, inputs))
    return hits


def _read(rows: Sequence[Row], inputs: Mapping[str, Any]) -> Iterator[Row]:
    """Yield the rows whose limits were compared: all their other conditions are met."""
    for row in rows:
        if all(isinstance(c, Range) or meets(inputs[name], c) for name, c in row.when.items()):
            yield row
