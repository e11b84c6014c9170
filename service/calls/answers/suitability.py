"""A verdict on a roof as a caller reads it."""

from __future__ import annotations

from typing import Any, Literal

import msgspec

from service.calc.suitability import Reason, Suitability
from service.quantity.show import Length, System, short

Verdict = Literal["suitable", "conditional", "unsuitable", "survey"]


class ReasonAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Why the verdict stands, what to do about it, and the rule that says so."""

    verdict: Verdict
    reason: str
    remedy: str | None
    rule: str
    because: tuple[str, ...]


class Assumption(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What the request did not tell, and what was taken instead."""

    fact: str
    taken: bool | Length


class SuitabilityAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The verdict, what the channel is fixed to, and why.

    The verdict is the gravest among the reasons, which stand gravest first.
    """

    verdict: Verdict
    attachment: Literal["rails", "frame_clips", "undecided"]
    shape: Literal["C", "L", "C or L", "undecided"]
    note: str | None
    reasons: tuple[ReasonAnswer, ...]
    assumptions: tuple[Assumption, ...]


def show_suitability(found: Suitability, system: System) -> SuitabilityAnswer:
    """Return a verdict in the caller's units."""
    shown: Any = found
    return SuitabilityAnswer(
        verdict=shown.verdict,
        attachment=shown.attachment,
        shape=shown.shape,
        note=found.note or None,
        reasons=tuple(_reason(reason) for reason in found.reasons),
        assumptions=tuple(
            Assumption(
                fact=fact, taken=short(value, system, "up") if fact == "clearance" else value
            )
            for fact, value in found.assumed
        ),
    )


def _reason(reason: Reason) -> ReasonAnswer:
    shown: Any = reason
    return ReasonAnswer(
        verdict=shown.verdict,
        reason=reason.reason,
        remedy=reason.remedy or None,
        rule=reason.rule,
        because=reason.because,
    )
