"""Nothing that is told of a plane undoes silently what else is told of it."""

from __future__ import annotations

import pytest
from gapwright.calls.materials import MaterialsRequest
from gapwright.calls.quote_request import QuoteRequest
from gapwright.strict import convert

from tests.unit.calls.layouts import ARRAY, CLEARANCE, request_faults, segment

RAIL = segment(-3, 15, 243, 15)
OPEN, CLOSED = {"side": "A-eave", "open": True}, {"side": "A-eave", "open": False}
EAVE, SEEN = {"facing": "eave", "open": True}, {"facing": "eave", "zone": "visible"}
TOLD = [
    ({"rails": {"none": True, "segments": [RAIL]}}, ["/rails/segments"]),
    (
        {"rails": {"none": True, "inset": "20 %", "direction": "slope"}},
        ["/rails/inset", "/rails/direction"],
    ),
    (
        {"rails": {"segments": [RAIL], "per_row": 2, "overhang": "0 in"}},
        ["/rails/per_row", "/rails/overhang"],
    ),
    ({"rails": {"segments": [RAIL, segment(0, 50, 0, 50)]}}, ["/rails/segments/1"]),
    ({"sides": [OPEN, {"side": "A-right", "open": True}, CLOSED]}, ["/sides/2/side"]),
    ({"facings": [EAVE, SEEN]}, ["/facings/1/facing"]),
]
FINE = [
    {"rails": {"none": True}},
    {"rails": {"segments": [RAIL]}},
    {"rails": {"direction": "slope", "per_row": 3, "inset": "20 %", "overhang": "0 in"}},
    {"sides": [OPEN, {"side": "A-right", "open": True}], "facings": [EAVE]},
]


def pointers(found):
    return [fault.pointer for fault in found]


@pytest.mark.parametrize(("told", "places"), TOLD)
def test_what_is_told_twice_or_against_something_is_refused_in_every_call(told, places):
    assert pointers(request_faults(**ARRAY, **told)) == places
    within = [f"/planes/0{place}" for place in places]
    planes = [{**ARRAY, **told}]
    assert pointers(request_faults(planes=planes)) == within
    assert pointers(convert({"planes": planes, **CLEARANCE}, QuoteRequest).faults()) == within
    billed = convert({"layout": {**ARRAY, **told}, **CLEARANCE}, MaterialsRequest).faults()
    assert pointers(billed) == [f"/layout{place}" for place in places]


@pytest.mark.parametrize("told", FINE)
def test_what_goes_together_is_taken(told):
    assert request_faults(**ARRAY, **told) == []


def test_what_is_told_beside_planes_holds_on_none_of_them_and_is_refused():
    told = {"rails": {"none": True}, "penetrations": [{"x": "0 in", "y": "0 in"}], "sides": [OPEN]}
    found = request_faults(planes=[ARRAY], **told, facings=[EAVE])
    assert pointers(found) == ["/rails", "/penetrations", "/sides", "/facings"]
    assert found[0].detail == (
        "This field belongs to a single plane, but planes are given. Move it into the plane."
    )


def test_what_belongs_to_a_drawn_array_is_refused_beside_measured_ones():
    told = {"rails": {"direction": "slope"}, "penetrations": [{"x": "0 in", "y": "0 in"}]}
    plane = {"arrays": [{"perimeter": "90 ft"}], **told, "sides": [OPEN], "facings": [EAVE]}
    found = convert({"planes": [plane], **CLEARANCE}, QuoteRequest).faults()
    names = ["rails", "penetrations", "sides", "facings"]
    assert pointers(found) == [f"/planes/0/{name}" for name in names]
    assert found[0].detail == ("This field needs a drawn array. Give array, or remove this field.")
