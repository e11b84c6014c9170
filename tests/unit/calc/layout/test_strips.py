"""Readings by edge: one strip where it suits all of them, else strips of their own."""

from __future__ import annotations

import pytest
from gapwright.calc.layout.counts import counts_of, plan_cuts
from gapwright.calc.layout.lay import lay_out, outline_plane
from gapwright.calc.layout.plane import InferredRails, Plane, SideFacts
from gapwright.calc.layout.strips import strips_of
from gapwright.calc.sizing import size
from gapwright.rulesets.figures import Figure

from tests.unit.drawing.roofs import grid
from tests.unit.make import baseline
from tests.unit.measures import inches

USUAL = ("4 1/2", "4 3/8")
SIDES = ("eave", "right", "ridge", "left")


def nm(*readings):
    return tuple(inches(each) for each in readings)


def read(*readings, **more):
    return SideFacts(readings_nm=nm(*readings), **more)


def plane(modules=None, **readings):
    known = {"name": "", "drawn": (), "rails": InferredRails(), "penetrations": ()}
    known |= {"sides": {}, "facings": {}} | readings
    return Plane(modules=modules or grid(2, 6), **known)


def sized(*planes, usual=USUAL):
    rules = baseline()
    outlines = [(each, outline_plane(each, rules)) for each in planes]
    planes = [(each, outline.value) for each, outline in outlines]
    return strips_of(Figure(nm(*usual)), planes, rules), outlines


def sizing(*places):
    """Return the sizing of readings of several places as an answer has it."""
    return size(Figure(places), baseline()).result(baseline())


def sizings(strips):
    return [strip.sizing.result(baseline()) for strip in strips.strips]


def laid(whole, usual=USUAL):
    strips, ((_, outline),) = sized(whole, usual=usual)
    found = lay_out(whole, outline, baseline(), strips)
    plans = plan_cuts([found], None, baseline(), strips).value
    return found, strips, plans


def readings(strips):
    return [[(one.place, one.readings_nm) for one in strip.readings] for strip in strips.strips]


def test_readings_that_one_strip_suits_take_one_strip_and_are_told_with_their_sides():
    strips, _ = sized(plane(sides={"A-right": read("4 5/8")}))
    assert readings(strips) == [[("all", nm(*USUAL)), ("A-right", nm("4 5/8"))]]
    assert sizings(strips) == [sizing(nm(*USUAL), nm("4 5/8"))]


def test_without_readings_by_side_the_strip_is_that_of_the_sizing_even_where_it_is_loose():
    strips, _ = sized(plane(), usual=("2", "9"))
    assert sizings(strips) == [sizing(nm("2", "9"))]
    assert sizings(strips)[0].advice


def test_an_side_that_the_strip_of_the_others_does_not_suit_has_its_own():
    found, strips, plans = laid(plane(sides={"A-right": read("7 1/4")}))
    assert [strip.name for strip in strips.strips] == ["S1", "S2"]
    assert [side.strip for side in found.sides] == ["S1", "S2", "S1", "S1"]
    widths = [strip.sizing.strip_nm.value for strip in strips.strips]
    assert [each.strip_nm for each in plans] == widths
    assert widths[0] < widths[1]


def test_no_piece_runs_round_a_corner_between_two_strips():
    found, _, _ = laid(plane(sides={"A-right": read("7 1/4")}))
    assert [[side.name for side in run.placed.sides] for run in found.runs] == [
        ["A-right"],
        ["A-ridge", "A-left", "A-eave"],
    ]
    for run in found.runs:
        assert not run.placed.run.closed
        assert run.layout.pieces[0].overlap_nm == 0
    assert {side.name for side in found.meetings} == {"A-right", "A-ridge"}


def test_corners_between_strips_are_corners_and_the_rolls_of_each_width_hold_its_pieces():
    found, strips, plans = laid(plane(sides={"A-right": read("7 1/4")}))
    assert counts_of([found], baseline()).corners.value == 4
    for each, strip in zip(plans, strips.strips, strict=True):
        cut = [piece.label for roll in each.plan.rolls for piece in roll.pieces]
        own = [f":{p.name}" for run in found.runs if run.strip == strip.name for p in run.pieces]
        assert sorted(cut) == sorted(own)


def test_what_is_told_of_an_side_goes_before_its_facing_and_that_before_the_whole_job():
    facts = {
        "facings": {"right": read("8"), "left": read("8")},
        "sides": {"A-right": read("4 1/2")},
    }
    found, _, _ = laid(plane(**facts))
    assert [side.strip for side in found.sides] == ["S1", "S1", "S1", "S2"]


@pytest.mark.parametrize(
    "facts",
    [
        {"sides": {"A-right": read("9", open=True)}},
        {"sides": {"Z7": read("9")}},
        {"sides": {"A-right": SideFacts(open=True)}, "facings": {"right": read("9")}},
    ],
)
def test_readings_where_no_channel_goes_do_not_count(facts):
    strips, _ = sized(plane(**facts))
    assert readings(strips) == [[("all", nm(*USUAL))]]


def test_readings_of_the_whole_job_do_not_count_where_every_side_has_its_own():
    strips, _ = sized(plane(facings={side: read("6") for side in SIDES}), usual=("2",))
    assert {one.place for strip in strips.strips for one in strip.readings} == set(SIDES)
    assert sizings(strips)[0].clearance.smallest.nm == inches("6")


def test_sides_whose_readings_take_one_width_share_a_strip_if_it_is_snug_for_all_of_them():
    facts = {"sides": {"A-right": read("7 1/4"), "A-left": read("7")}}
    strips, _ = sized(plane(**facts))
    assert [[place for place, _ in strip] for strip in readings(strips)] == [
        ["all"],
        ["A-right", "A-left"],
    ]


def test_equal_sides_of_several_planes_share_their_strip():
    west, east = (plane(name=name, sides={"A-right": read("7 1/4")}) for name in ("west", "east"))
    strips, _ = sized(west, east)
    assert len(strips.strips) == 2
    assert [(one.plane, one.place) for one in strips.strips[1].readings] == [
        ("west", "A-right"),
        ("east", "A-right"),
    ]


def test_an_side_that_is_low_all_along_is_no_tight_spot_among_the_readings_of_the_others():
    strips, _ = sized(plane(sides={"A-right": read("3 1/2")}), usual=("6",) * 5)
    assert readings(strips) == [[("all", nm(*("6",) * 5))], [("A-right", nm("3 1/2"))]]
    assert [found.clearance.isolated for found in sizings(strips)] == [(), ()]


def test_a_tight_spot_among_the_readings_of_its_own_side_stands_alone():
    strips, _ = sized(plane(sides={"A-right": read("6", "6", "6", "3 1/2")}), usual=("6",))
    assert len(strips.strips) == 1
    assert [spot.nm for spot in sizings(strips)[0].clearance.isolated] == [inches("3 1/2")]
