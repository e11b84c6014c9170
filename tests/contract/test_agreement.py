"""Document and service agree on what cannot stand together in a request."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.contract.ask import CONTRACT, EXAMPLES, Service
from tests.contract.documented import faults

RAIL = {"start": {"x": "0 in", "y": "9 in"}, "end": {"x": "9 ft", "y": "9 in"}}


@pytest.mark.parametrize(
    ("told", "status"),
    [
        ({"rails": {}}, 200),
        ({"rails": {"none": False, "segments": None, "direction": "eave"}}, 200),
        ({"rails": {"none": True}}, 422),
        ({"rails": {"segments": []}}, 422),
        ({"rails": {"direction": "slope"}}, 422),
        ({"rails": {"per_row": 2}}, 422),
        ({"penetrations": [{"x": "0 in", "y": "0 in"}]}, 422),
        ({"sides": [{"side": "A-eave", "open": True}]}, 422),
        ({"facings": []}, 200),
        ({"facings": [{"facing": "eave", "open": True}]}, 422),
    ],
)
def test_they_agree_on_what_is_told_of_no_drawn_array(
    service: Service, told: dict[str, Any], status: int
):
    """Beside measured arrays it would be told of none, beside several planes of none of them."""
    measured = copy.deepcopy(EXAMPLES["/v1/quote"]["quote-perimeter"])
    measured["planes"][0] |= told
    several = EXAMPLES["/v1/layout"]["layout-two-planes"]
    beside = {"planes": several["planes"]} | told
    billed = {"layout": beside, "clearance": several["clearance"]}
    agree_on(service, "/v1/quote", measured, status)
    agree_on(service, "/v1/layout", several | told, status)
    agree_on(service, "/v1/materials", billed, status)


@pytest.mark.parametrize(
    ("rails", "status"),
    [
        ({}, 200),
        ({"direction": "slope", "per_row": 3, "inset": "20 %", "overhang": "4 in"}, 200),
        ({"none": True, "segments": [], "direction": "eave", "per_row": None}, 200),
        ({"segments": [RAIL], "none": False, "direction": "eave", "inset": None}, 200),
        ({"none": True, "segments": [RAIL]}, 422),
        ({"none": True, "direction": "slope"}, 422),
        ({"none": True, "overhang": "4 in"}, 422),
        ({"segments": [RAIL], "per_row": 3}, 422),
        ({"segments": [], "inset": "20 %"}, 422),
    ],
)
def test_they_agree_on_rails_told_in_two_ways(service: Service, rails: dict[str, Any], status: int):
    block = EXAMPLES["/v1/layout"]["layout-block"]
    plane = {"array": block["array"], "rails": rails}
    agree_on(service, "/v1/layout", block | plane, status)
    agree_on(service, "/v1/layout", {"clearance": block["clearance"], "planes": [plane]}, status)


@pytest.mark.parametrize(
    ("told", "status"),
    [
        ({"corners": None, "penetrations": 0, "zones": {}}, 200),
        ({"corners": 0}, 200),
        ({"corners": 4}, 422),
        ({"penetrations": 1}, 422),
        ({"zones": {"exposed": "9 ft"}}, 422),
    ],
)
def test_they_agree_on_what_a_layout_counts_itself(
    service: Service, told: dict[str, Any], status: int
):
    counted = EXAMPLES["/v1/materials"]["materials-counted"]
    measured = EXAMPLES["/v1/materials"]["materials-rings"]
    agree_on(service, "/v1/materials", counted | told, status)
    agree_on(service, "/v1/materials", measured | {"penetrations": 0, "zones": {}} | told, 200)


@pytest.mark.parametrize(
    ("name", "one"), [("sides", {"side": "A-eave"}), ("facings", {"facing": "eave"})]
)
@pytest.mark.parametrize("several", [False, True])
def test_they_agree_on_readings_by_side_where_the_strip_is_told(
    service: Service, name: str, one: dict[str, str], several: bool
):
    array = EXAMPLES["/v1/layout"]["layout-block"]["array"]
    readings = {"readings": ["4 1/2 in"]}
    for clearance, status in ((None, 200), (readings, 422)):
        plane = {"array": array, name: [one | {"clearance": clearance}]}
        layout = {"planes": [plane]} if several else plane
        agree_on(service, "/v1/materials", {"layout": layout, "strip_width": "8 in"}, status)
        agree_on(service, "/v1/materials", {"layout": layout, "clearance": readings}, 200)


@pytest.mark.parametrize("empty", [{}, {"modules": []}, {"modules": [], "blocks": []}])
def test_they_agree_on_arrays_that_are_empty(service: Service, empty: dict[str, Any]):
    block = EXAMPLES["/v1/layout"]["layout-block"]
    agree_on(service, "/v1/layout", block | {"array": empty}, 422)
    agree_on(service, "/v1/layout", block | {"array": empty | block["array"]}, 200)


@pytest.mark.parametrize("way", ["perimeter", "grid", "modules"])
def test_they_agree_on_arrays_that_nothing_measures(service: Service, way: str):
    request = copy.deepcopy(EXAMPLES["/v1/quote"]["quote-perimeter"])
    for area, status in (({way: None}, 422), ({"perimeter": "90 ft", "grid": None}, 200)):
        request["planes"][0]["arrays"] = [area]
        agree_on(service, "/v1/quote", request, status)


def agree_on(service: Service, path: str, request: Any, status: int) -> None:
    """Check that the service answers a request so, and that the document says as much of it."""
    body = CONTRACT["paths"][path]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert (faults(request, body) == []) == (status == 200)
    assert service.post(path, request).status_code == status
