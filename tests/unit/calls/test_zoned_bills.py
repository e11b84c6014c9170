"""Bills of arrays that are laid out with edges in zones: what the perimeter drives goes by zone."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest
from gapwright.calls.materials import MaterialsRequest, materials
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import convert

from tests.unit.calls.layouts import ARRAY, CLEARANCE
from tests.unit.calls.quotes import SITE, ask
from tests.unit.make import baseline_text, rules_of
from tests.unit.wire import as_sent

SEALANT = """
  sealant:
    description: Sealant, one cartridge
    estimate: {edge: {driver: perimeter, one_per: 10 ft}}
    source: from-memory
  hem:
    description: Hem along the mesh
    unit: length
    estimate: {edge: {driver: mesh_length}}
    source: from-memory
  marker:
    description: Marker
    estimate: {edge: {driver: perimeter, one_per: 31 ft}}
    count: {edge: {driver: perimeter, one_per: 10 ft}}
    source: from-memory
  label:
    description: Label, one on each cartridge
    estimate: {stuck: {driver: sealant}}
    source: from-memory
"""
EXPOSED = """
      sealant: {edge: {one_per: 5 ft}}
      marker: {edge: {one_per: 2 ft}}
"""
EAVE = {"facings": [{"facing": "eave", "zone": "exposed"}]}
"""20 ft of 62 ft."""


@lru_cache(maxsize=1)
def rules() -> RuleSet:
    """Return the baseline with lines that are driven by length, also where a layout counts."""
    text = baseline_text().replace("\ntools:\n", f"{SEALANT}\ntools:\n")
    zones, exposed, rest = text.partition("\n  exposed:\n")
    allowing = rest.replace(
        "{overlap_length: 8 in,", "{waste_factor: 50 %, overlap_length: 8 in,", 1
    )
    return rules_of(zones + exposed + allowing.replace("\n    bill:\n", f"\n    bill:{EXPOSED}", 1))


def billed(**more: Any) -> Any:
    """Return the bill of materials that counts a layout."""
    request = convert({"layout": {**ARRAY, **more}, **CLEARANCE}, MaterialsRequest)
    assert request.faults() == []
    return as_sent(materials(request, rules()).result)


def quantities(result: Any, figure: str = "quantity") -> dict[str, float]:
    named = ("sealant", "hem", "marker", "label")
    return {one.item: getattr(one, figure) for one in result.lines if one.item in named}


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({}, {"sealant": 7, "hem": 74.4, "marker": 7, "label": 7}),
        (EAVE, {"sealant": 9, "hem": 80.4, "marker": 15, "label": 9}),
        (
            {"facings": [{"facing": "eave", "zone": "visible"}]},
            {"sealant": 7, "hem": 74.4, "marker": 7, "label": 7},
        ),
    ],
)
def test_what_the_perimeter_drives_takes_the_ratio_of_each_zone(
    told: dict[str, Any], expected: dict[str, float]
):
    assert quantities(billed(**told)) == expected


def test_an_side_that_is_left_open_takes_nothing_in_its_zone():
    told = {"facings": [{"facing": "eave", "zone": "exposed", "open": True}]}
    assert quantities(billed(**told))["sealant"] == 5


def test_a_quote_counts_by_zone_as_the_bill_does():
    request = {**SITE, **CLEARANCE, "planes": [{**ARRAY, **EAVE}]}
    quoted = ask(request, rules())["bill"]
    assert quantities(quoted) == quantities(billed(**EAVE))


def test_a_line_that_the_thumb_rules_count_says_the_same_by_both():
    found = billed(**EAVE)
    count, thumb = quantities(found), quantities(found, "thumb_rule")
    assert {item: count[item] for item in ("sealant", "hem", "label")} == {
        item: thumb[item] for item in ("sealant", "hem", "label")
    }
