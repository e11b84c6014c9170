"""The suitability call: whether a barrier can be installed, and how it is attached."""

from __future__ import annotations

from typing import Annotated

import msgspec

from gapwright.calc.suitability import judge_site
from gapwright.calls.request import BaseRequest, Computed, readings_nm
from gapwright.facts import Clearance, Covering, Racking, Site
from gapwright.rulesets.ruleset import RuleSet


class SuitabilityRequest(BaseRequest, frozen=True, kw_only=True):
    """Check whether a barrier can be installed on this roof."""

    roof_covering: Annotated[Covering, msgspec.Meta(description="Roof covering.")] = "unknown"
    racking: Annotated[Racking, msgspec.Meta(description="Racking type.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="Findings on site.")] = Site()


def suitability(request: SuitabilityRequest, rules: RuleSet) -> Computed:
    """Return the verdict on a roof."""
    arrays = (readings_nm(request.clearance),) if request.clearance else ()
    found = judge_site(request.roof_covering, request.racking, arrays, request.site, rules)
    return Computed(result=found.result(rules), facts=found.facts)
