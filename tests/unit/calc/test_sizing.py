from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import cos, radians

import msgspec
import pytest
from gapwright.calc.channel import bend
from gapwright.calc.sizing import size
from gapwright.rulesets.figures import Figure
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.make import baseline, with_values
from tests.unit.measures import IN, MM, STEADY, inches
from tests.unit.wire import as_sent

BASELINE = baseline()
SNAPPED = with_values({"snap_bends_to_wires": True})
METRIC = msgspec.structs.replace(BASELINE, units="metric")
WIDTHS = BASELINE.values.stock_widths
MARKS = st.integers(8, 12 * 16).map(lambda marks: marks * IN // 16)
READINGS = st.lists(MARKS, min_size=1, max_size=12)
CROWDED = st.integers(76, 116).map(lambda marks: marks * IN // 16)
RULES = st.sampled_from([BASELINE, SNAPPED, METRIC])
SYSTEMS = st.sampled_from(["imperial", "metric"])
OFTEN = settings(STEADY, max_examples=150)


def sizing_of(readings, rules=BASELINE):
    return size(Figure((tuple(readings),)), rules).result(rules)


def sized(*readings, rules=BASELINE):
    return sizing_of([inches(reading) for reading in readings], rules)


def snug(strip, least, largest, rules):
    channel = bend(strip, least, largest, rules)
    return channel is not None and channel.snug


def stocked(largest):
    """Return the narrowest stocked width that covers a reading by the margin, None for none."""
    return next((width for width in WIDTHS if width - largest >= 2 * IN), None)


def width(sizing):
    return sizing.strip.width and sizing.strip.width.nm


def counted(readings, sizing):
    alone = {spot.reading for spot in sizing.clearance.isolated}
    return {nm for at, nm in enumerate(readings) if at not in alone}


def beyond(sizing):
    """Return the readings that no stocked strip suits, in all the advice together."""
    return [length.nm for advice in sizing.advice for length in advice.beyond]


def advised(sizing, kind):
    return next((advice for advice in sizing.advice if advice.kind == kind), None)


@pytest.mark.parametrize(
    ("gap", "strip"), [("2", "4"), ("4", "6"), ("6", "8"), ("8", "10"), ("10", "12")]
)
def test_a_clearance_exactly_on_a_stock_width_takes_that_width(gap, strip):
    sizing = sized(gap)
    assert sizing.strip.required_width.nm == width(sizing) == inches(strip)
    assert sizing.strip.spare.nm == 0
    assert sizing.strip.common is (strip in ("6", "8"))


@pytest.mark.parametrize(("gap", "strip"), [("2", "6"), ("4", "8"), ("6", "10"), ("8", "12")])
def test_a_nanometre_more_clearance_takes_the_next_width(gap, strip):
    assert width(sizing_of([inches(gap) + 1])) == inches(strip)


@OFTEN
@given(READINGS)
def test_the_strip_is_the_narrowest_stocked_one_that_covers_every_reading_by_the_margin(readings):
    sizing = sizing_of(readings)
    assert width(sizing) == stocked(max(readings))
    assert sizing.strip.required_width.nm == max(readings) + 2 * IN


def test_the_margin_is_the_rule_sets_own():
    assert width(sized("4 1/2", rules=with_values({"mesh_margin": 4 * IN}))) == 10 * IN


def test_the_web_follows_the_tightest_reading_and_the_width_the_largest():
    sizing = sized("4 1/2", "4", "4 1/4")
    assert width(sizing) == 8 * IN
    assert sizing.profile.web.nm == inches("3 1/2")
    assert sizing.advice == ()


def test_an_isolated_tight_spot_changes_neither_strip_nor_channel():
    even = sized("4 1/2", "4 1/4", "4 1/2", "4 1/2")
    spot = sized("4 1/2", "4 1/4", "4 1/2", "4 1/2", "2")
    assert (spot.strip, spot.profile) == (even.strip, even.profile)
    assert [(one.reading, one.nm) for one in spot.clearance.isolated] == [(4, 2 * IN)]


@OFTEN
@given(READINGS, RULES)
def test_advice_is_given_exactly_where_no_stocked_strip_fits_snugly(readings, rules):
    sizing = sizing_of(readings, rules)
    fits = sizing.profile is not None and sizing.profile.snug
    assert bool(sizing.advice) is not fits
    for advice in as_sent(sizing).advice:
        assert advice.text[0].isupper()
        assert advice.text.endswith(".")


@pytest.mark.parametrize("readings", [("11",), ("10 1/64", "11", "12"), ("36",)])
def test_a_gap_beyond_all_stock_is_named_and_a_wider_strip_advised(readings):
    sizing = sized(*readings)
    strip = sizing.strip
    assert (strip.width, strip.spare, strip.common, sizing.profile) == (None, None, False, None)
    assert sorted(beyond(sizing)) == sorted(inches(reading) for reading in readings)
    assert any("wider" in advice.text for advice in as_sent(sizing).advice)


def test_a_gap_that_is_partly_beyond_all_stock_keeps_a_strip_for_the_rest():
    sizing = sized("11", "4", "4 1/4")
    split = advised(sizing, "split")
    assert beyond(sizing) == [inches("11")]
    assert [s.strip_width.nm for s in split.stretches] == [8 * IN]


@OFTEN
@given(READINGS, RULES)
def test_a_proposed_next_width_is_the_first_wider_one_that_is_snug(readings, rules):
    sizing = sizing_of(readings, rules)
    advice = advised(sizing, "next_width")
    least, largest = sizing.clearance.smallest.nm, sizing.clearance.governing.nm
    wider = [w for w in WIDTHS if width(sizing) is not None and w > width(sizing)]
    fitting = [w for w in wider if snug(w, least, largest, rules)]
    if sizing.advice:
        assert (advice.strip_width.nm if advice else None) == (fitting[0] if fitting else None)
    if advice:
        assert advice.strip_width.text("imperial") in advice.text.text("imperial")


@OFTEN
@given(READINGS, RULES)
def test_a_split_places_every_reading_in_one_snug_stretch_or_beyond(readings, rules):
    sizing = sizing_of(readings, rules)
    split = advised(sizing, "split")
    for stretch in split.stretches if split else ():
        least, largest = stretch.low.nm, stretch.high.nm
        assert stretch.strip_width.nm == stocked(largest)
        assert stretch.profile == bend(stretch.strip_width.nm, least, largest, rules)
        assert stretch.profile.snug
    for nm in counted(readings, sizing) if split else ():
        inside = [s for s in split.stretches if s.low.nm <= nm <= s.high.nm]
        assert len(inside) + beyond(sizing).count(nm) == 1
    for nm in beyond(sizing):
        assert stocked(nm) is None or not snug(stocked(nm), nm, nm, rules)


def best_division(readings, rules):
    """Return the least (readings beyond, stretches), by trying every division of the readings."""
    gaps = sorted(readings)

    @cache
    def best(start):
        if start == len(gaps):
            return 0, 0
        beyond, stretches = best(start + 1)
        tries = [(beyond + 1, stretches)]
        for end in range(start, len(gaps)):
            strip = stocked(gaps[end])
            if strip is not None and snug(strip, gaps[start], gaps[end], rules):
                beyond, stretches = best(end + 1)
                tries.append((beyond, stretches + 1))
        return min(tries)

    return best(0)


@OFTEN
@given(st.lists(CROWDED, min_size=4, max_size=8), RULES)
def test_a_split_has_as_few_stretches_as_any_division_of_the_readings(readings, rules):
    sizing = sizing_of(readings, rules)
    split = advised(sizing, "split")
    if split is not None:
        found = len(beyond(sizing)), len(split.stretches)
        assert found == best_division(counted(readings, sizing), rules)


def test_a_shorter_first_stretch_can_spare_a_whole_strip_further_down():
    """Two stretches do: 7 1/16 in alone, and 6 3/16 down to 4 7/8 in from a 10 in strip."""
    split = advised(sized("4 7/8", "5 11/16", "6 3/16", "7 1/16"), "split")
    assert len(split.stretches) == 2


def test_a_gap_too_low_for_a_web_gets_no_channel_and_no_wider_strip():
    assert sized("1").profile is None
    assert advised(sized("1"), "low_gap") is not None
    mixed = sized("1", "4")
    low = advised(mixed, "low_gap")
    assert [length.nm for length in low.beyond] == [IN]
    assert "wider" not in low.text.text("imperial")
    assert [s.strip_width.nm for s in advised(mixed, "split").stretches] == [6 * IN]


@OFTEN
@given(READINGS, RULES, st.randoms(use_true_random=False))
def test_the_order_in_which_readings_are_taken_does_not_change_the_sizing(readings, rules, chance):
    shuffled = list(readings)
    chance.shuffle(shuffled)
    first, second = sizing_of(readings, rules), sizing_of(shuffled, rules)
    assert (first.strip, first.profile, first.advice) == (
        second.strip,
        second.profile,
        second.advice,
    )


def stated_nm(length):
    """Return the length that a text of inches or millimetres states, by fractions alone."""
    number, unit = length.text.rsplit(" ", 1)
    sign = -1 if number.startswith("-") else 1
    total = sum(Fraction(part) for part in number.lstrip("-").split())
    return sign * total * {"in": IN, "mm": MM}[unit]


@OFTEN
@given(READINGS, SYSTEMS)
def test_what_is_needed_is_rounded_up_and_what_there_is_is_rounded_down(readings, system):
    sizing = sizing_of(readings)
    sent = as_sent(sizing, system)
    assert stated_nm(sent.clearance.governing) >= max(readings)
    assert stated_nm(sent.strip.required_width) >= sizing.strip.required_width.nm
    if sent.strip.width is not None:
        assert stated_nm(sent.strip.width) <= width(sizing)
        assert stated_nm(sent.strip.spare) <= sizing.strip.spare.nm
    if sent.profile is not None:
        low, high = map(stated_nm, sent.profile.bend_lines)
        assert stated_nm(sent.profile.web) <= sizing.profile.web.nm
        assert stated_nm(sent.profile.free_height.max) <= sizing.profile.free_height.max.nm
        assert high - low <= sizing.clearance.smallest.nm - IN // 2


@OFTEN
@given(READINGS, st.sampled_from([BASELINE, METRIC]))
def test_bent_where_a_tape_of_the_rule_sets_units_reads_a_snug_channel_springs(readings, rules):
    sizing = sizing_of(readings, rules)
    if sizing.profile is not None and sizing.profile.snug:
        profile = as_sent(sizing, rules.units).profile
        low, high = map(stated_nm, profile.bend_lines)
        flanges = float(low + width(sizing) - high)
        springs = float(high - low) + flanges * cos(radians(profile.bend_angle.max))
        assert springs > max(readings)


def test_an_ordinary_gap_reads_as_a_crew_reads_its_tape():
    sent = as_sent(sized("5", "4 3/4"))
    assert sent.keys() == {"clearance", "strip", "profile", "advice"}
    assert (sent.clearance.governing.text, sent.clearance.smallest.text) == ("5 in", "4 3/4 in")
    strip, profile = sent.strip, sent.profile
    assert (strip.required_width.text, strip.width.text) == ("7 in", "8 in")
    assert (strip.spare.text, strip.common) == ("1 in", True)
    assert (profile.web.text, profile.fit) == ("4 1/4 in", "snug")
    assert [line.text for line in profile.bend_lines] == ["1 7/8 in", "6 1/8 in"]
    assert profile.bend_angle.keys() == profile.free_height.keys() == {"min", "max"}


def test_a_split_names_each_stretch_with_its_strip_and_profile():
    sent = as_sent(sized("9", "9", "4", "4", "4"))
    (split,) = (advice for advice in sent.advice if advice.kind == "split")
    assert [(s.low.text, s.high.text, s.strip_width.text) for s in split.stretches] == [
        ("9 in", "9 in", "12 in"),
        ("4 in", "4 in", "6 in"),
    ]
    assert {stretch.profile.fit for stretch in split.stretches} == {"snug"}
    assert "2 stretches" in split.text
