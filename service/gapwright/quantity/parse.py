"""Parse quantities as they read on a tape measure: `4 1/2 in`, `6' 4 1/2"`, `114.3 mm`, `20 %`.

The number has its own grammar here, and only the unit name goes to pint: a caller's text never
reaches a general parser.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import lru_cache

from gapwright.quantity.show import NM_PER_FT
from gapwright.quantity.units import nearest_unit, read_unit

LONGEST_TEXT = 40
"""The longest text that is parsed, in characters."""

_NUMBER = r"(?:\d{1,9}(?:\.\d{1,24})?|\.\d{1,24})"
_FRACTION = r"\d{1,4} ?/ ?\d{1,4}"
_TERM = re.compile(
    rf"(?:(?P<whole>{_NUMBER})(?:[ -](?P<mixed>{_FRACTION}))?|(?P<fraction>{_FRACTION}))"
    r" ?(?P<unit>[a-zA-Z]{1,20}/[a-zA-Z]{1,20}(?:³|(?:\^|\*\*)?3)?|[^\d\s.,/+-][^\d\s,/+-]*)",
    re.ASCII,
)
_HALF_SIGNS = "½¼¾⅛⅜⅝⅞⅓⅔"
_WRITTEN = (
    rf"[0-9.{_HALF_SIGNS}][0-9./⁄{_HALF_SIGNS}\s-]*"
    r"""([A-Za-zµμÅ][A-Za-z_]*\.?|["″”'′’]{1,2}|%)"""
)
PATTERN = rf"{_WRITTEN}(\s*{_WRITTEN})?"
"""A regular expression (ECMA-262) for every text that is a quantity; not every match is one."""
_EXPONENT = re.compile(r"[\d.]+[eE][+-]?\d", re.ASCII)
_HALVES = {c: unicodedata.normalize("NFKC", c).replace("⁄", "/") for c in _HALF_SIGNS}
_GLUED = re.compile(rf"[{''.join(_HALVES)}][\d/⁄{''.join(_HALVES)}]")
"""A fraction character followed by a digit, a slash, or another fraction: `½3` reads as 1/23."""
_REMEDY = "Expected a number and a unit, such as {example}."


class QuantityError(ValueError):
    """A string is not a quantity. The message says what is wrong and what is expected."""


def parse(text: str, dimension: str, example: str) -> Fraction:
    """Return the quantity in a string, exact, in the base unit of `dimension`.

    Base units: length nm, mass g, time min, angle deg, share percent, density g/m³. `example`
    appears in the error message. Raises QuantityError.
    """
    remedy = _REMEDY.format(example=example)
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"The text is longer than {LONGEST_TEXT} characters. {remedy}")
    terms = _terms(text, remedy)
    measured = [_measured(term, dimension, remedy, text) for term in terms]
    if len(terms) == 1:
        return measured[0]
    return _feet_and_inches(terms, measured, text, remedy)


def _terms(text: str, remedy: str) -> list[re.Match[str]]:
    plain = _plain(text)
    if _GLUED.search(text):
        raise QuantityError(f"{_shown(text)} is not a quantity. {remedy}")
    terms: list[re.Match[str]] = []
    at = 0
    while at < len(plain):
        term = _TERM.match(plain, at)
        if term is None or _EXPONENT.match(plain, at):
            raise QuantityError(f"{_why(plain, text)} {remedy}")
        terms.append(term)
        at = term.end()
        if plain.startswith(" ", at):
            at += 1
    if not terms:
        raise QuantityError(f"The text is empty. {remedy}")
    return terms


def _plain(text: str) -> str:
    """Return the text with Unicode fractions written out and whitespace collapsed."""
    for sign, spelled in _HALVES.items():
        if sign in text:
            text = re.sub(rf"(?<=\d) ?{sign}", f" {spelled}", text).replace(sign, spelled)
    return " ".join(text.replace("⁄", "/").split())


def _why(plain: str, text: str) -> str:
    """Return the most likely reason why a string is not a quantity, as a sentence."""
    shown = _shown(text)
    if plain.startswith(("-", "−", "–")):
        return f"{shown} is negative."
    if re.fullmatch(_NUMBER, plain) or re.fullmatch(rf"(?:\d+[ -])?{_FRACTION}", plain):
        return f"{shown} has no unit."
    if re.search(r"\d,\d", plain):
        return f"{shown} has a comma. Use a decimal point, and no thousands separator."
    if _EXPONENT.match(plain):
        return f"{shown} has an exponent. Write the number out."
    return f"{shown} is not a quantity."


def _measured(term: re.Match[str], dimension: str, remedy: str, text: str) -> Fraction:
    unit = term["unit"]
    known = read_unit(unit, dimension)
    if known is None:
        near = nearest_unit(unit)
        hint = f" Did you mean '{near}'?" if near else ""
        raise QuantityError(f"{_shown(text)} has the unknown unit {_shown(unit)}.{hint} {remedy}")
    found, factor = known
    if found != dimension:
        kind = found or "something else"
        raise QuantityError(f"{_shown(text)} measures {kind}, not {dimension}. {remedy}")
    return _number(term, text, remedy) * factor


def _number(term: re.Match[str], text: str, remedy: str) -> Fraction:
    number = Fraction(term["whole"] or 0)
    fraction = term["mixed"] or term["fraction"]
    if fraction is None:
        return number
    above, below = (int(part) for part in fraction.split("/"))
    if below == 0:
        raise QuantityError(f"{_shown(text)} divides by zero. {remedy}")
    if term["mixed"] and (above >= below or "." in term["whole"]):
        raise QuantityError(f"{_shown(text)} is not a valid mixed number. {remedy}")
    return number + Fraction(above, below)


def _feet_and_inches(
    terms: list[re.Match[str]], measured: list[Fraction], text: str, remedy: str
) -> Fraction:
    feet, inches = (read_unit(unit, "length") for unit in ("ft", "in"))
    feet_first = [read_unit(term["unit"], "length") for term in terms] == [feet, inches]
    if not feet_first or terms[0]["mixed"] or terms[0]["fraction"] or measured[1] >= NM_PER_FT:
        raise QuantityError(
            f"{_shown(text)} combines two quantities. Only feet and inches can be combined,"
            f" with less than 12 inches. {remedy}"
        )
    return measured[0] + measured[1]


def _shown(text: str) -> str:
    return f'"{text}"' if '"' not in text else f"‘{text}’"


@lru_cache(maxsize=4096)
def length_nm(text: str, example: str = "4 1/2 in") -> int:
    """Return a length in nanometers, rounded to the nearest one.

    Raises QuantityError.
    """
    return round(parse(text, "length", example))
