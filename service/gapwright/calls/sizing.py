"""The sizing call: the strip width and the channel for a clearance."""

from __future__ import annotations

from gapwright.calc.sizing import size
from gapwright.calls.request import BaseRequest, Computed, readings_nm
from gapwright.facts import Clearance
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet


class SizingRequest(BaseRequest, frozen=True, kw_only=True):
    """Size the strip and the channel for a clearance."""

    clearance: Clearance
    """Readings of the clearance."""


def sizing(request: SizingRequest, rules: RuleSet) -> Computed:
    """Return the sizing of a clearance."""
    sized = size(Figure((readings_nm(request.clearance),)), rules)
    return Computed(result=sized.result(rules), facts={"measured": True})
