"""The suitability call: whether a barrier can be installed, and how it is attached."""

from __future__ import annotations

from gapwright.calc.suitability import judge_site
from gapwright.calls.request import BaseRequest, Computed, readings_nm
from gapwright.facts import Clearance, Covering, Racking, Site
from gapwright.rulesets.ruleset import RuleSet


class SuitabilityRequest(BaseRequest, frozen=True, kw_only=True):
    """Check whether a barrier can be installed on this roof."""

    roof_covering: Covering = "unknown"
    """Roof covering."""
    racking: Racking = "unknown"
    """Racking type."""
    clearance: Clearance | None = None
    """Readings of the clearance."""
    site: Site = Site()
    """Findings on site."""


def suitability(request: SuitabilityRequest, rules: RuleSet) -> Computed:
    """Return the verdict on a roof."""
    arrays = (readings_nm(request.clearance),) if request.clearance else ()
    found = judge_site(request.roof_covering, request.racking, arrays, request.site, rules)
    return Computed(result=found.result(rules), facts=found.facts)
