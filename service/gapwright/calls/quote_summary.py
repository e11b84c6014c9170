"""The lines of a quote that a proposal prints."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from gapwright.calc.quote.order import EACH, BillRow, OrderLine
from gapwright.calc.suitability import Verdict
from gapwright.quantity.output import Money, Text
from gapwright.rulesets.figures import present


class QuoteSummary(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The verdict, the price, the time and the materials in a few lines."""

    verdict: Verdict
    """The verdict on the job."""
    total: Money | None
    """The price with taxes; null if there is none yet."""
    currency: str | None
    """The currency of the total, by its ISO 4217 code; null without a price."""
    firm: bool
    """Whether nothing that is open can change the price."""
    crew: int | None
    """People in the crew; null if the rule set has no labor rates."""
    days: float | None
    """Days on site; null if the rule set has no labor rates."""
    materials: tuple[Text, ...]
    """What to order, one line each."""
    assumptions: tuple[Text, ...]
    """What was assumed, one sentence each."""


def material_lines(rows: Sequence[BillRow]) -> tuple[Text, ...]:
    """Return what to order, one line for each item."""
    return tuple(map(_material, present(row.order for row in rows)))


def _material(order: OrderLine) -> Text:
    description = Text(order.description)
    if order.pack == EACH:
        return Text(f"{order.packs} × {{}}", description)
    if order.strip_width is None:
        return Text(f"{order.packs} × {order.pack} of {{}}: {{}}", order.pack_size, description)
    return Text(
        f"{order.packs} × {order.pack} of {{}}, {{}} wide: {{}}",
        order.pack_size,
        order.strip_width,
        description,
    )


def assumed_line(description: str, assumed: Text, low: Text, high: Text) -> Text:
    """Return an assumption with its likely range as a sentence."""
    plain = Text(description.rstrip("."))
    return Text("{}: {} assumed, likely {} to {}.", plain, assumed, low, high)
