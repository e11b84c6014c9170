"""Whether a price is firm: what is known to be open, and could still change it.

What the request does not tell of the site is not counted: an active nest that nobody has seen
changes the verdict, and is listed with it.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.calc.quote import LaidArea, Price
from service.calls.quoting import Quoted, Ranged

_VERDICTS = {
    "survey": "The verdict asks for a survey; what it finds can change the job.",
    "conditional": "The verdict holds on conditions; the price holds if they are met as they are.",
}


def open_matters(found: Quoted) -> tuple[str, ...]:
    """Return why the price of a quote is not firm, none where it is."""
    reckoned = found.reckoned
    if reckoned is None or reckoned.price is None:
        return ()
    return tuple(_open(found, reckoned.price))


def _open(found: Quoted, price: Price) -> Iterator[str]:
    verdict = _VERDICTS.get(found.suitability.verdict)
    if verdict:
        yield verdict
    if price.to_be_priced.value:
        yield f"To be priced: {', '.join(price.to_be_priced.value)}."
    moving = [one.assumption.name for one in found.ranged if _moves(one, price)]
    if moving:
        yield f"Assumed, and the total hangs on it: {', '.join(moving)}."
    reckoned = found.reckoned
    if reckoned and reckoned.labour and reckoned.labour.untold:
        yield f"Not told, so that no work is reckoned for it: {', '.join(reckoned.labour.untold)}."
    unknown = [name for area in found.job.laid for name in _unknown(area)] if found.job else []
    if unknown:
        yield f"Told of edges that are not there: {', '.join(unknown)}."
    strips = reckoned.strips if reckoned else ()
    loose = [name for strip in strips if not strip.sizing.snug.value for name in strip.names]
    if loose:
        yield f"The channel is not snug, and the advice would change the strip: {', '.join(loose)}."


def _unknown(area: LaidArea) -> Iterator[str]:
    """Yield the edges of which something was told, and which the drawn plane does not have."""
    known = {edge.name for edge in area.plane.edges}
    yield from (f"{area.name} {name}" for name in area.plane.plane.edges if name not in known)


def _moves(ranged: Ranged, price: Price) -> bool:
    """Return whether something in the range of an assumption leads to another total."""
    others = ranged.others.value
    totals = {one.price.total.value if one and one.price else None for one in others}
    return bool(totals - {price.total.value})
