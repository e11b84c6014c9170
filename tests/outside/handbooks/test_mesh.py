"""The weight and the openings of mesh against printed tables.

Weights: "New welded wire fabric numbering system explained", Concrete Construction, 1975; pounds
for 100 ft² of fabric, printed to a whole pound. Read in a secondary copy. The rows rest on sheets
5 ft wide with an inch of wire sticking out at each side. A wire of the number W1.4 has 0.014 in² of
cross section; the row was printed for wire of gauge 10 (W1.43), so counting comes out some 3 % low
there, and within 0.9 % elsewhere: half a printed pound is up to 2.4 % of the smallest row.

The strip of hardware cloth is worked by hand: 33.41 lb by area, 34.46 lb by counting its wires.
Computed, with steel of 490 lb/ft³; printed to a hundredth of a pound.

Openings: tables of wire cloth, 1/2 in spacing; the rows of .0625, .047 and .041 in wire are
computed against charts from memory, the others are read in a secondary copy. The tolerance is
half of the last printed digit.

Wire gauges: steel wire gauge (Washburn & Moen), in inches; from memory, and the library fluids
(PyPI, citing Machinery's Handbook) has the same.
"""

from __future__ import annotations

from fractions import Fraction
from math import pi, sqrt

import pytest
from fluids.piping import t_from_gauge
from gapwright.calc.weight import open_share, opening_nm, weigh_strip
from gapwright.quantity.parse import length_nm, parse
from gapwright.rulesets.ruleset import Mesh
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY

IN = 25_400_000
FT = 12 * IN
G_PER_LB = 453.59237
STEEL = parse("490 lb/ft³", "density", "490 lb/ft³")

FABRIC = [
    (6, 1.4, 21, 0.035),
    (6, 2.0, 29, 0.009),
    (6, 2.9, 42, 0.009),
    (6, 4.0, 58, 0.009),
    (4, 1.4, 31, 0.035),
    (4, 2.0, 43, 0.009),
    (4, 2.9, 62, 0.009),
    (4, 4.0, 85, 0.009),
]
"""Spacing in inches, wire number, printed pounds for 100 ft², and the part by which it may miss."""


def mesh(spacing_in, wire_in, coating=0):
    return Mesh(
        wire_nm=round(wire_in * IN),
        spacing_nm=round(spacing_in * IN),
        density=STEEL,
        coating=Fraction(coating),
    )


@pytest.mark.parametrize(("spacing", "number", "printed", "part"), FABRIC)
def test_fabric_weighs_what_the_table_says(spacing, number, printed, part):
    """A long sheet, so that the one cross wire more at its end does not count."""
    wire = sqrt(4 * number / 100 / pi)
    sheet = weigh_strip(62 * IN, 10_000 * FT, mesh(spacing, wire))
    pounds = sheet.weight_g / G_PER_LB / (5 * 10_000) * 100
    assert abs(pounds - printed) / printed <= part


def test_an_eight_inch_strip_of_a_hundred_feet_weighs_thirty_four_pounds_by_its_wires():
    strip = weigh_strip(8 * IN, 100 * FT, mesh(0.5, 0.0625))
    assert (strip.line_wires, strip.cross_wires) == (17, 2401)
    assert abs(strip.weight_g / G_PER_LB - 34.46) <= 0.005


def test_by_area_alone_the_strip_would_weigh_a_pound_less():
    """A wide and long sheet has no edges to speak of: its weight for each area, for this strip."""
    side = 2000 * FT
    sheet = weigh_strip(side, side, mesh(0.5, 0.0625)).weight_g * 8 * IN * 100 * FT / side**2
    assert abs(sheet / G_PER_LB - 33.41) <= 0.005


def test_the_coating_of_the_baseline_comes_on_top():
    rules = baseline()
    strip = weigh_strip(8 * IN, 100 * FT, rules.mesh)
    assert abs(strip.bare_g / G_PER_LB - 34.46) <= 0.005
    assert abs(strip.weight_g / G_PER_LB - 34.46 * 1.08) <= 0.006


OPENINGS = [
    ("1/2", "0.0625", ".4375", "76.56"),
    ("1/2", "0.047", ".453", "82.1"),
    ("1/2", "0.041", ".459", "84.3"),
    ("1/4", "0.063", ".187", None),
    ("1/40", "0.010", None, "36"),
    ("1/100", "0.0045", None, "30.25"),
]
"""Spacing, wire, opening [in] and open area [%], as printed."""


@pytest.mark.parametrize(("spacing", "wire", "opening", "share"), OPENINGS)
def test_openings_and_open_area_are_those_of_the_tables(spacing, wire, opening, share):
    cloth = mesh(Fraction(spacing), float(wire))
    if opening is not None:
        assert abs(opening_nm(cloth) / IN - float(opening)) <= half_a_digit(opening)
    if share is not None:
        assert abs(100 * open_share(cloth) - float(share)) <= half_a_digit(share)


def half_a_digit(printed):
    """Return half of the last digit of a printed number, with room for a double's own error."""
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10**-decimals + 1e-9


STEEL_WIRE_GAUGE = {
    10: ".135",
    12: ".1055",
    14: ".080",
    16: ".0625",
    18: ".0475",
    19: ".041",
    20: ".0348",
    22: ".0286",
    23: ".0258",
    24: ".023",
}


@pytest.mark.parametrize(("number", "inches"), STEEL_WIRE_GAUGE.items())
def test_the_two_sources_of_steel_wire_gauge_agree(number, inches):
    assert t_from_gauge(number, False, "SWG") == pytest.approx(float(inches), abs=1e-12)


def test_the_wire_of_the_baseline_is_that_of_steel_wire_gauge_16():
    rules = baseline()
    assert rules.mesh.wire_nm == length_nm(f"{t_from_gauge(16, False, 'SWG')} in")
    assert "steel wire gauge 16" in rules.content["mesh"]["wire"]["description"]


def baseline():
    shelf = Shelf(HISTORY)
    return shelf.load(shelf.ledger["baseline"]["1.2.0"])
