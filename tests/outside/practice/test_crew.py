"""How far a crew gets in a day. Common practice, from memory; no source.

A crew of two does about 100 to 200 ft a day, so the worked job of 90 ft takes between half a day
and a day. The rates of the shipped rule sets are for each company to calibrate; what is checked is
that together they come to what crews know, by thumb rule and from a layout alike.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.calc.bill import quick_drivers
from gapwright.calc.labor import Work, estimate_labor
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY

FT = 304_800_000
SHELF = Shelf(HISTORY)
NAMES = [("baseline", "1.2.0"), ("seacliff", "1.1.0")]
FACTS = {
    "bending": "hand",
    "joining": "rings",
    "finish": "prepainted",
    "pitch": "low",
    "stories": "one",
    "roof_covering": "asphalt_shingle",
    "racking": "rail_mounted",
}


def thumb(perimeter_ft, rules):
    return quick_drivers(Figure(perimeter_ft * FT), Figure(4), Figure(0), rules)


def assumed(name, perimeter_ft, **facts):
    """Return the labour of one array by thumb rule, for a crew of two."""
    rules = SHELF.load(SHELF.ledger[name[0]][name[1]])
    return estimate_labor(
        Work(
            planes=1,
            arrays=Figure(1),
            estimated=thumb(perimeter_ft, rules),
            counted={},
            facts=FACTS | facts,
            crew=Figure(2),
            working_day=Figure(Fraction(rules.assumptions["working_day"].value)),
        ),
        rules,
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_worked_job_takes_between_half_a_day_and_a_day(name):
    found = assumed(name, 90)
    day = SHELF.load(SHELF.ledger[name[0]][name[1]]).assumptions["working_day"].value
    assert Fraction(1, 2) <= found.crew_minutes.value / day <= 1
    assert found.days.value in (Fraction(1, 2), 1)


@pytest.mark.parametrize("name", NAMES)
def test_a_crew_of_two_does_between_100_and_200_ft_in_a_day(name):
    assert assumed(name, 100).days.value <= 1
    assert assumed(name, 200).days.value > 1


def test_a_steep_roof_of_slate_takes_longer_and_a_brake_on_a_large_one_less_long():
    plain, steep = (
        assumed(NAMES[0], 90),
        assumed(NAMES[0], 90, pitch="steep", roof_covering="slate"),
    )
    assert steep.person_minutes.value > plain.person_minutes.value
    brake = assumed(NAMES[0], 300, bending="brake")
    assert brake.person_minutes.value < assumed(NAMES[0], 300).person_minutes.value


def test_a_layout_of_the_worked_job_takes_about_as_long_as_the_thumb_rule():
    """Nine pieces of 10 ft, laps between them, and tabs at most 8 ft apart: common practice."""
    rules = SHELF.load(SHELF.ledger["baseline"]["1.2.0"])
    counted = {
        **thumb(90, rules),
        "cut_mesh": Figure(96 * FT),
        "pieces": Figure(10),
        "overlaps": Figure(10),
        "tabs": Figure(16),
        "returns": Figure(0),
    }
    job = Work(
        planes=1,
        arrays=Figure(1),
        estimated={},
        counted=counted,
        facts=FACTS,
        crew=Figure(2),
        working_day=Figure(Fraction(480)),
    )
    by_counts = estimate_labor(job, rules).person_minutes.value
    assert abs(by_counts / assumed(NAMES[0], 90).person_minutes.value - 1) < Fraction(1, 10)
