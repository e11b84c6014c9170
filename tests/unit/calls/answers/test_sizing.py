from __future__ import annotations

from fractions import Fraction
from math import cos, radians

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.calc.sizing import size
from service.calls.answers.sizing import show_sizing
from service.calls.computing import compute_sizing
from service.calls.forms import SizingForm
from service.quantity.kinds import decode
from tests.unit.make import baseline, values
from tests.unit.measures import IN, MM, STEADY, inches

BASELINE = values()
MARKS = st.integers(28, 11 * 16).map(lambda marks: marks * IN // 16)
READINGS = st.lists(MARKS, min_size=1, max_size=6)
SYSTEMS = st.sampled_from(["imperial", "metric"])


def shown(*readings, system="imperial"):
    return show_sizing(size([inches(r) for r in readings], BASELINE), system)


def stated_nm(length):
    """Return the length that a text of inches or millimetres states, by fractions alone."""
    number, unit = length.text.rsplit(" ", 1)
    sign = -1 if number.startswith("-") else 1
    total = sum(Fraction(part) for part in number.lstrip("-").split())
    return sign * total * {"in": IN, "mm": MM}[unit]


def told(sizing, kind):
    return next((advice for advice in sizing.advice if advice.kind == kind), None)


def test_an_ordinary_gap_is_shown_as_a_crew_reads_it():
    found = shown("5", "4 3/4")
    assert found.clearance.governing.text == "5 in"
    assert found.clearance.tightest.text == "4 3/4 in"
    assert (found.strip.required_width.text, found.strip.width.text) == ("7 in", "8 in")
    assert (found.strip.spare.text, found.strip.common) == ("1 in", True)
    profile = found.profile
    assert (profile.web.text, profile.fit) == ("4 1/4 in", "snug")
    assert [line.text for line in profile.bend_lines] == ["1 7/8 in", "6 1/8 in"]


def test_an_isolated_spot_is_named_by_its_position_in_the_request():
    (spot,) = shown("4", "4", "2", "4", "4").clearance.isolated
    assert (spot.reading, spot.text) == (2, "2 in")


@STEADY
@given(READINGS, SYSTEMS)
def test_what_is_wanted_is_rounded_up_and_what_there_is_is_rounded_down(readings, system):
    sizing = size(readings, BASELINE)
    found = show_sizing(sizing, system)
    assert stated_nm(found.clearance.governing) >= max(readings)
    assert stated_nm(found.strip.required_width) >= sizing.required_nm
    if sizing.strip_nm is not None:
        assert stated_nm(found.strip.width) <= sizing.strip_nm
        assert stated_nm(found.strip.spare) <= sizing.strip_nm - sizing.required_nm
    if sizing.channel is not None:
        assert stated_nm(found.profile.web) <= sizing.channel.web_nm
        assert stated_nm(found.profile.free_height.to) <= sizing.channel.free_to_nm


@STEADY
@given(READINGS, SYSTEMS)
def test_bent_where_the_text_says_the_web_still_goes_in_at_the_tightest_reading(readings, system):
    sizing = size(readings, BASELINE)
    if sizing.channel is not None:
        low, high = map(stated_nm, show_sizing(sizing, system).profile.bend_lines)
        assert high - low <= sizing.clearance.tightest_nm - BASELINE.web_allowance


@STEADY
@given(READINGS, SYSTEMS)
def test_bent_where_the_text_says_the_channel_springs_at_every_recommended_turn(readings, system):
    written = [f"{nm // (IN // 16)}/16 in" for nm in readings]
    request = {"clearance": {"readings": written}, "units": system}
    form = msgspec.convert(request, SizingForm, dec_hook=decode)
    profile = compute_sizing(form, baseline()).result.profile
    if profile is not None and profile.fit == "snug":
        strip = size(readings, BASELINE).strip_nm
        low, high = map(stated_nm, profile.bend_lines)
        flanges = float(low + strip - high)
        springs = float(high - low) + flanges * cos(radians(profile.bend_angle.to))
        assert springs > max(readings)


@STEADY
@given(READINGS, SYSTEMS)
def test_every_advice_is_a_sentence_that_says_what_to_do(readings, system):
    for advice in show_sizing(size(readings, BASELINE), system).advice:
        assert advice.text[0].isupper()
        assert advice.text.endswith(".")


def test_a_wider_strip_is_never_the_remedy_for_a_gap_that_is_too_low():
    advice = shown("1", "4").advice
    low = [entry for entry in advice if "1 in" in [length.text for length in entry.beyond]]
    assert low
    assert not [entry.text for entry in low if "wider" in entry.text]


def test_a_gap_beyond_all_stock_is_told_what_to_do():
    found = shown("11")
    assert (found.strip.width, found.strip.spare, found.profile) == (None, None, None)
    assert found.strip.common is False
    assert any("wider" in advice.text for advice in found.advice)


def test_a_split_shows_each_stretch_with_its_strip_and_profile():
    split = told(shown("9", "9", "4", "4", "4"), "split")
    assert [(s.from_.text, s.to.text, s.strip_width.text) for s in split.stretches] == [
        ("9 in", "9 in", "12 in"),
        ("4 in", "4 in", "6 in"),
    ]
    assert {stretch.profile.fit for stretch in split.stretches} == {"snug"}
    assert "2 stretches" in split.text


def test_the_next_width_is_named_in_the_advice():
    readings = ["4 1/2"] * 4 + ["3 1/2"] * 4
    found = shown(*readings)
    advice = told(found, "next_width")
    if found.profile.fit == "loose":
        assert advice.strip_width.text in advice.text


def test_millimetres_are_whole_and_say_when_they_are_rounded():
    web = shown("4 1/2", system="metric").profile.web
    assert (web.text, web.rounded, web.value, web.unit) == ("101 mm", "down", 101.6, "mm")
    strip = shown("4 1/2", system="imperial").strip.width
    assert (strip.text, strip.rounded) == ("8 in", msgspec.UNSET)


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_the_wire_names_are_those_of_the_contract(system):
    body = msgspec.to_builtins(shown("9", "4", "4", system=system))
    assert set(body) == {"clearance", "strip", "profile", "advice"}
    assert set(body["profile"]["bend_angle"]) == {"from", "to"}
    assert set(body["profile"]["free_height"]) == {"from", "to"}
