"""The suitability call: whether the barrier can be fitted here, and what it is fixed to."""

from __future__ import annotations

from typing import Annotated

import msgspec

from gapwright.calc.suitability import judge_site
from gapwright.calls.request import Computed, Form, readings_nm
from gapwright.facts import Clearance, Covering, Racking, Site
from gapwright.rulesets.ruleset import RuleSet


class SuitabilityForm(Form, frozen=True, kw_only=True):
    """Judge whether the barrier can be fitted on this roof in this way."""

    roof_covering: Annotated[
        Covering, msgspec.Meta(description="What the roof is covered with.")
    ] = "unknown"
    racking: Annotated[Racking, msgspec.Meta(description="What the modules stand on.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="What was found on the roof.")] = Site()


def suitability(form: SuitabilityForm, rules: RuleSet) -> Computed:
    """Return the verdict on a roof."""
    arrays = (readings_nm(form.clearance),) if form.clearance else ()
    found = judge_site(form.roof_covering, form.racking, arrays, form.site, rules)
    return Computed(result=found.result(rules), facts=found.facts)
