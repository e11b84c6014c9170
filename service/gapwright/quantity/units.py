"""Units by name, looked up in pint: what each measures, and its exact factor to the base unit.

Pint only gets one name such as `inch` or `kg`, never a number, an operator, or an exponent. It
evaluates those, and `9**9**9 m` would hang it. A density is split here into its two units. Base
units: length nm, mass g, time min, angle deg, share %, density g/m³.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache
from typing import Any

import pint

_registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)

_BASE = {"length": "nanometer", "mass": "gram", "time": "minute", "angle": "degree"}
_SYMBOLS = {
    **dict.fromkeys(('"', "″", "”", "''", "′′"), "inch"),
    **dict.fromkeys(("'", "′", "’"), "foot"),
    **{"in.": "inch", "ft.": "foot", "°": "degree"},
}
"""Unit symbols on drawings and tapes that pint does not know."""
_PERCENT = ("%", "percent", "pct")
_NAME = re.compile(r"[A-Za-zµμÅ][A-Za-z_]{0,39}")
_DENSITY = re.compile(r"([A-Za-z]{1,20})/([A-Za-z]{1,20}?)(³|(?:\^|\*\*)?3)?")
_COMMON = (
    *("in", "inch", "inches", "ft", "foot", "feet", "yd", "yard", "mm", "cm", "meter", "metre"),
    *("kg", "lb", "pound", "oz", "ounce", "min", "minute", "hour", "deg", "degree", "percent"),
    *("lb/ft³", "kg/m³"),
)
"""What a misspelled unit may have meant."""


@lru_cache(maxsize=1024)
def read_unit(text: str, wanted: str) -> tuple[str, Fraction] | None:
    """Return a unit's dimension and its exact factor to the base unit; None if there is none.

    Units are case-sensitive to pint (`Mg` is a tonne, `mg` a thousandth of a gram), so the text is
    taken in lower case only where it is no unit of the `wanted` dimension as it is written. The
    dimension is empty where it is none of ours.
    """
    found = _measure(text)
    if (found is None or found[0] != wanted) and text != text.lower():
        lower = _measure(text.lower())
        found = lower if lower is not None and (found is None or lower[0] == wanted) else found
    return found


def nearest_unit(text: str) -> str:
    """Return the common unit that a misspelled one is closest to; empty if none is close."""
    return next(iter(get_close_matches(text.lower(), _COMMON, n=1)), "")


def _measure(text: str) -> tuple[str, Fraction] | None:
    if text in _PERCENT:
        return "share", Fraction(1)
    density = _DENSITY.fullmatch(text)
    if density is not None:
        return _measure_density(density[1], density[2], cubed=density[3] is not None)
    found = _root(_SYMBOLS.get(text, text))
    if found is None:
        return None
    factor, root = found
    for dimension, (base_factor, base_root) in _ROOTS.items():
        if root == base_root:
            return dimension, factor / base_factor
    return "", factor


def _measure_density(mass: str, length: str, *, cubed: bool) -> tuple[str, Fraction] | None:
    """Return what a mass over the cube of a length, or over a volume such as a liter, measures."""
    above, below = _root(mass), _root(length)
    if above is None or below is None:
        return None
    factor, root = below
    power = 3 if cubed else 1
    if above[1] != _ROOTS["mass"][1] or root**power != _ROOTS["length"][1] ** 3:
        return "", factor
    return "density", above[0] / factor**power


def _root(name: str) -> tuple[Fraction, Any] | None:
    """Return the factor of one named unit to pint's root units, and those; None if unknown."""
    if not _NAME.fullmatch(name):
        return None
    try:
        factor, root = _registry.get_root_units(name, check_nonmult=True)
        return Fraction(factor), root  # type: ignore[arg-type]
    except (pint.errors.PintError, ArithmeticError, TypeError, ValueError):
        return None  # no unit, or one such as `nan` that pint reads as a number


_ROOTS = {dimension: root for dimension, base in _BASE.items() if (root := _root(base))}
