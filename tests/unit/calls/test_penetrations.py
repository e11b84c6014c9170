"""Penetrations: where they are cut out of the channel, and what is said of the others."""

from __future__ import annotations

from tests.unit.calls.layouts import ARRAY, layout

EAVE_OPEN = [{"facing": "eave", "open": True}]


def spot(x, y):
    return {"x": f"{x} in", "y": f"{y} in"}


def told(found):
    return [
        (each.code, each.place.x.text, each.place.y.text)
        for each in found.warnings
        if each.code.startswith("penetration")
    ]


def test_each_penetration_that_no_side_is_near_is_told_with_its_place():
    found = layout(**ARRAY, penetrations=[spot(100, 66), spot(100, 5), spot(400, -400)])
    assert found.counts.penetrations == 1
    assert told(found) == [
        ("penetration_away", "8 ft 4 in", "5 ft 6 in"),
        ("penetration_away", "33 ft 4 in", "-33 ft 4 in"),
    ]


def test_one_at_an_side_left_open_is_not_said_to_be_far_from_any_side():
    found = layout(**ARRAY, penetrations=[spot(100, 2), spot(100, 130)], facings=EAVE_OPEN)
    assert found.counts.penetrations == 1
    assert told(found) == [("penetration_at_open_side", "8 ft 4 in", "2 in")]
    (warning,) = found.warnings
    assert warning.text == (
        "The side nearest to a penetration here, A-eave, is left open, so the penetration gets no"
        " cutout."
    )


def test_a_penetration_on_a_corner_is_cut_out_once():
    found = layout(**ARRAY, penetrations=[spot(0, 0), spot(240, 132)])
    assert found.counts.penetrations == 2
    assert told(found) == []


def test_one_on_the_corner_beside_an_open_side_is_cut_out_of_the_other_side():
    for corner in (spot(0, 0), spot(240, 0)):
        found = layout(**ARRAY, penetrations=[corner], facings=EAVE_OPEN)
        assert found.counts.penetrations == 1
        assert told(found) == []
