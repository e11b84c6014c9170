"""The units that the trade writes, and their exact factors, read with pint.

The allow-list is the whole registry: a unit that is not defined here does not exist for this
service, so no text of a caller is ever handed to pint's own grammar.
Source of the factors: NIST SP 811, appendix B (exact by definition); checked against scipy and
pint's own tables in tests/outside.
"""

from __future__ import annotations

from fractions import Fraction

import pint

_DEFINITIONS = """
metre = [length] = m = meter
millimetre = metre / 1000 = mm
centimetre = metre / 100 = cm
nanometre = metre / 1000000000 = nm
inch = 254 * metre / 10000 = in
foot = 12 * inch = ft
yard = 3 * foot = yd
kilogram = [mass] = kg
gram = kilogram / 1000 = g
pound = 45359237 * kilogram / 100000000 = lb
ounce = pound / 16 = oz
second = [time] = s
minute = 60 * second = min
hour = 60 * minute = h
degree = [angle] = deg
percent = [share] = pct
[density] = [mass] / [length] ** 3
"""

_SPELLINGS = {
    "metre": ("m", "meter", "meters", "metre", "metres"),
    "millimetre": ("mm", "millimeter", "millimeters", "millimetre", "millimetres"),
    "centimetre": ("cm", "centimeter", "centimeters", "centimetre", "centimetres"),
    "inch": ("in", "in.", "inch", "inches", '"', "″", "”", "''", "′′"),
    "foot": ("ft", "ft.", "foot", "feet", "'", "′", "’"),
    "yard": ("yd", "yard", "yards"),
    "kilogram": ("kg", "kilogram", "kilograms"),
    "gram": ("g", "gram", "grams"),
    "pound": ("lb", "lbs", "pound", "pounds"),
    "ounce": ("oz", "ounce", "ounces"),
    "minute": ("min", "minute", "minutes"),
    "hour": ("h", "hour", "hours"),
    "degree": ("deg", "°", "degree", "degrees"),
    "percent": ("%", "percent"),
    "pound / foot ** 3": ("lb/ft³", "lb/ft3", "lb/ft^3"),
    "kilogram / metre ** 3": ("kg/m³", "kg/m3", "kg/m^3"),
    "gram / centimetre ** 3": ("g/cm³", "g/cm3", "g/cm^3"),
}

_BASE = {
    "length": "nanometre",
    "mass": "gram",
    "time": "minute",
    "angle": "degree",
    "share": "percent",
    "density": "gram / metre ** 3",
}

_registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
_registry.load_definitions(_DEFINITIONS.strip().splitlines())


def _measure(unit: str) -> tuple[str, Fraction]:
    """Return a unit's dimension and how many base units of that dimension it holds."""
    one = _registry.Quantity(1, unit)
    for dimension, base in _BASE.items():
        if one.check(f"[{dimension}]"):
            return dimension, Fraction(one.m_as(base))
    raise ValueError(unit)  # pragma: no cover - every unit above has one of the dimensions


UNITS: dict[str, tuple[str, Fraction]] = {
    spelling: measured
    for unit, spellings in _SPELLINGS.items()
    for measured in (_measure(unit),)
    for spelling in spellings
}
"""Each accepted spelling, its dimension, and its exact factor to that dimension's base unit."""
