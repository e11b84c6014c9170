from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.quantity.parse import QuantityError
from gapwright.rulesets.measure import measure

from tests.unit.measures import FT, IN


@pytest.mark.parametrize(
    ("kind", "raw", "value"),
    [
        ("length", "6 in", 6 * IN),
        ("length", "0 in", 0),
        ("length", "8 ft", 8 * FT),
        ("lengths", ["4 in", "6 in"], (4 * IN, 6 * IN)),
        ("share", "20 %", Fraction(1, 5)),
        ("share", "0 %", 0),
        ("share", "33.3 %", Fraction(333, 1000)),
        ("share", "1/3 %", Fraction(1, 300)),
        ("angle", "70 deg", 70.0),
        ("angle", "90°", 90.0),
        ("count", 0, 0),
        ("count", 4, 4),
        ("flag", False, False),
        ("time", "12 min", 12),
        ("time", "7.5 h", 450),
        ("density", "7850 kg/m³", 7_850_000),
        ("density", "7.85 g/cm3", 7_850_000),
    ],
)
def test_each_kind_of_value_is_read_from_its_own_notation(kind, raw, value):
    found = measure(kind, raw)
    assert found == value
    assert isinstance(found, bool) == (kind == "flag")


@pytest.mark.parametrize(
    ("kind", "raw"),
    [
        ("length", 6),
        ("time", 12),
        ("time", "12 in"),
        ("density", "490 lb"),
        ("density", 490),
        ("length", 6.5),
        ("length", "6"),
        ("length", "6 lb"),
        ("length", ["6 in"]),
        ("length", True),
        ("length", None),
        ("lengths", "6 in"),
        ("lengths", []),
        ("lengths", ["6 in", 8]),
        ("lengths", ["8 in", "6 in"]),
        ("lengths", ["6 in", "152.4 mm"]),
        ("share", 0.2),
        ("share", 20),
        ("share", "0.2"),
        ("share", "20 percents"),
        ("share", "20 in"),
        ("angle", 70),
        ("angle", "-70 deg"),
        ("count", -1),
        ("count", 4.0),
        ("count", "4"),
        ("count", True),
        ("count", "4 in"),
        ("flag", "true"),
        ("flag", 1),
        ("flag", None),
    ],
)
def test_what_is_not_of_the_kind_is_refused_and_told_what_to_write(kind, raw):
    with pytest.raises(QuantityError, match=r"Expected|List each"):
        measure(kind, raw)
