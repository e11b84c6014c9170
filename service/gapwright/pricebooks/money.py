"""Money: amounts as they are written, the decimals of each currency, and rounding.

The minor units are those of ISO 4217, table A.1, from memory: two decimals unless listed
below. Codes that are not payment currencies (metals, tests, units of account) have no minor unit
and are rejected.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from gapwright.pricebooks.schema import NO_MONEY, Rounding
from gapwright.quantity.kinds import shown
from gapwright.quantity.parse import QuantityError

MOST = 1_000_000_000
"""The largest amount; anything larger is a typo."""

USUAL_PLACES = 2
_WHOLE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THOUSANDTHS = "BHD IQD JOD KWD LYD OMR TND"
_CODE = re.compile("[A-Z]{3}", re.ASCII)
_AMOUNT = re.compile(r"(0|[1-9][0-9]{0,29})(?:\.([0-9]{1,30}))?", re.ASCII)
_REMEDY = "Expected an amount in quotes, such as {example}."


def places_of(code: str) -> int:
    """Return how many decimals amounts in a currency have. Raises QuantityError."""
    if not _CODE.fullmatch(code) or code in NO_MONEY:
        raise QuantityError(
            f"{shown(code)} is not a currency. Expected an ISO 4217 code, such as USD."
        )
    if code in _WHOLE.split():
        return 0
    return 3 if code in _THOUSANDTHS.split() else USUAL_PLACES


def amount(raw: object, places: int) -> Decimal:
    """Return the amount that a text states, with at most `places` decimals.

    Raises QuantityError: also for a number, because a float may not be exact.
    """
    remedy = _REMEDY.format(example='"42"' if places == 0 else f'"42.{"0" * places}"')
    if not isinstance(raw, str):
        raise QuantityError(f"{remedy[:-1]}; got {shown(raw)}.")
    found = _AMOUNT.fullmatch(raw)
    if found is None:
        raise QuantityError(f"{shown(raw)} {_why(raw)}. {remedy}")
    if len(found[2] or "") > places:
        raise QuantityError(f"{shown(raw)} has more than {places} decimals. {remedy}")
    value = Decimal(raw)
    if value > MOST:
        raise QuantityError(f"{shown(raw)} is more than {MOST}. {remedy}")
    return value


def rounded(value: Decimal | Fraction, places: int, rounding: Rounding) -> Decimal:
    """Return an amount rounded to `places` decimals, exactly, whatever the decimal context is.

    `half_up` rounds a half away from zero, `half_even` to the even neighbor, and `up` rounds any
    remainder away from zero.
    """
    scaled = Fraction(value) * 10**places
    size = abs(scaled)
    count, rest = divmod(size.numerator, size.denominator)
    half = 2 * rest - size.denominator  # above zero: more than half, zero: a half
    away = {
        "half_up": half >= 0,
        "half_even": half > 0 or (half == 0 and count % 2 == 1),
        "up": rest > 0,
    }[rounding]
    digits = tuple(int(digit) for digit in str(count + away))
    return Decimal((int(scaled < 0), digits, -places))


def _why(raw: str) -> str:
    """Return the most likely reason why a string is not an amount."""
    text = raw.strip()
    if text.startswith(("-", "−", "–")):
        return "is negative"
    if re.fullmatch(r"[\d.]+[eE][+-]?\d+", text):
        return "has an exponent; write the number out"
    if re.search(r"\d,\d", text):
        return "has a comma; use a decimal point, and no thousands separator"
    return "is not an amount"
