"""Show what a quote assumes, and what else could be done."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Literal

from service.calc.quote import Reckoned
from service.calls.answers.quote import AlternativeAnswer, QuoteAssumption, TotalRange
from service.calls.answers.show_price import show_amount
from service.calls.quoting import Alternative, Ranged
from service.errors import pointer
from service.quantity.show import System, decimal, duration, long, short

_TEXTS = {
    "ties": "Join the laps with cable ties, so that no ring tool is needed.",
    "rings": "Join the laps with rings.",
    "prepainted": "Buy everything black.",
    "spray": "Touch up from a black spray can.",
    "hand": "Bend by hand.",
    "brake": "Bend with a bending brake.",
}


def show_ranged(ranged: Ranged, taken: Reckoned, system: System) -> QuoteAssumption:
    """Return an assumption with its likely range, and the range that it puts on the total.

    What was taken lies inside of the range, but its total need not: it is counted in. There is no
    range where the job cannot be priced somewhere in it.
    """
    assumption = ranged.assumption

    def shown(value: int | Fraction) -> str:
        if assumption.kind == "length":
            return short(int(value), system, "down").text
        if assumption.kind == "time":
            return duration(Fraction(value)).text
        return str(int(value))

    return QuoteAssumption(
        name=assumption.name,
        means=assumption.means,
        taken=shown(assumption.value),
        from_=shown(assumption.least),
        to=shown(assumption.most),
        total=_range(ranged, taken),
        places=tuple(pointer(path) for path in ranged.places),
        rule=assumption.rule,
    )


def _range(ranged: Ranged, taken: Reckoned) -> TotalRange | None:
    totals = [_total(one) if one else None for one in (taken, *ranged.others)]
    known = [total for total in totals if total is not None]
    if taken.price is None or len(known) < len(totals):
        return None
    book = taken.price.book
    return TotalRange(from_=show_amount(min(known), book), to=show_amount(max(known), book))


def _total(reckoned: Reckoned) -> Decimal | None:
    return reckoned.price.total if reckoned.price else None


def show_alternative(other: Alternative, asked: Reckoned, system: System) -> AlternativeAnswer:
    """Return an alternative with what it changes against what was asked for."""
    price, before, after = other.reckoned.price, _total(asked), _total(other.reckoned)
    change, to, text = _words(other, system)
    then, now = other.reckoned.labour, asked.labour
    hours = (then.person_minutes - now.person_minutes) / 60 if then and now else None
    return AlternativeAnswer(
        change=change,
        to=to,
        text=text,
        total=show_amount(after, price.book) if price and after is not None else None,
        total_change=(
            show_amount(after - before, price.book)
            if price and after is not None and before is not None
            else None
        ),
        person_hours=duration(then.person_minutes) if then else None,
        hours_change=decimal(float(hours)) if hours is not None else None,
    )


Change = Literal["joining", "painted", "bending", "strip_width", "roll_length"]


def _words(other: Alternative, system: System) -> tuple[Change, str, str]:
    """Return what is changed, to what, and as a sentence."""
    choices = other.choices
    if other.changed == "wider":
        widths = [s.width_nm for s in other.reckoned.strips if s.width_nm is not None]
        to = ", ".join(short(width, system, "down").text for width in dict.fromkeys(widths))
        return "strip_width", to, f"Take the next strip width, {to}."
    if other.changed == "roll_nm":
        to = long(choices.roll_nm or 0, system, "down").text
        return "roll_length", to, f"Buy the mesh in rolls of {to}."
    to = getattr(choices, other.changed)
    return other.changed, to, _TEXTS[to]
