"""The price of a job by a price book: exact amounts, each rounded once, and sums that add up.

Costs are what the company pays. What is put on them leads to the price of materials and of labour;
fees stand as they are; what a minimum charge adds counts as a fee, and taxes are shown apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from service.calc.quote.order import OrderLine
from service.pricebooks.pricebook import Fee, MarkUp, PriceBook, Tax

_MINUTES = 60


class PricedLine(msgspec.Struct, frozen=True, kw_only=True):
    """What an order line costs; `each` and `amount` are None where the book has no price for it."""

    order: OrderLine
    each: Decimal | None
    amount: Decimal | None
    rule: str | None


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """A part of the price: its cost, what is put on it, and the price that this leads to."""

    cost: Decimal
    added: Decimal
    price: Decimal


class Taxed(msgspec.Struct, frozen=True, kw_only=True):
    """A tax: the amount that it is taken of, and what it comes to."""

    tax: Tax
    of: Decimal
    amount: Decimal


class Price(msgspec.Struct, frozen=True, kw_only=True):
    """The price of a job. `total` is None as long as something is to be priced.

    `untold` names what is to be priced: items of order lines, or `labour`. `subtotal` holds what
    could be priced, the minimum charge's addition included; `total` adds the taxes to it.
    """

    book: PriceBook
    lines: tuple[PricedLine, ...]
    materials: Share
    labour: Share | None
    fees: tuple[Fee, ...]
    minimum_added: Decimal
    subtotal: Decimal
    taxes: tuple[Taxed, ...]
    total: Decimal | None
    untold: tuple[str, ...]


def price_of(
    orders: Sequence[OrderLine], person_minutes: Fraction | None, book: PriceBook
) -> Price:
    """Return the price of what is ordered and worked; `person_minutes` None: hours not known."""
    lines = tuple(_priced(order, book) for order in orders)
    untold = [line.order.item.id for line in lines if line.amount is None]
    materials = _share(_sum(line.amount for line in lines if line.amount), book, "materials")
    labour = None
    if person_minutes is None or book.hour is None:
        untold.append("labour")
    else:
        cost = book.rounded(person_minutes / _MINUTES * Fraction(book.hour))
        labour = _share(cost, book, "labour")
    worked = labour.price if labour else Decimal(0)
    plain = materials.price + worked + _sum(fee.amount for fee in book.fees)
    minimum = book.minimum if book.minimum is not None else Decimal(0)
    added = max(minimum - plain, Decimal(0)) if not untold else Decimal(0)
    parts = {"materials": materials.price, "labour": worked}
    parts["fees"] = _sum(fee.amount for fee in book.fees) + added
    taxes = tuple(_taxed(tax, parts, book) for tax in book.taxes)
    subtotal = plain + added
    total = None if untold else subtotal + _sum(tax.amount for tax in taxes)
    return Price(
        book=book,
        lines=lines,
        materials=materials,
        labour=labour,
        fees=book.fees,
        minimum_added=added,
        subtotal=subtotal,
        taxes=taxes,
        total=total,
        untold=tuple(dict.fromkeys(untold)),
    )


def _priced(order: OrderLine, book: PriceBook) -> PricedLine:
    found = book.find(order.item.id, order.width_nm, order.holds)
    if found is None:
        return PricedLine(order=order, each=None, amount=None, rule=None)
    each = found.at(order.count)
    amount = book.rounded(each * order.count)
    return PricedLine(order=order, each=each, amount=amount, rule=found.rule)


def _share(cost: Decimal, book: PriceBook, part: str) -> Share:
    mark_up: MarkUp | None = getattr(book.mark_ups, part)
    price = book.rounded(mark_up.on(cost) if mark_up else cost)
    return Share(cost=book.rounded(cost), added=price - book.rounded(cost), price=price)


def _taxed(tax: Tax, parts: dict[str, Decimal], book: PriceBook) -> Taxed:
    of = _sum(parts[name] for name in tax.on)
    return Taxed(tax=tax, of=of, amount=book.rounded(Fraction(of) * tax.share))


def _sum(amounts: object) -> Decimal:
    return sum(amounts, Decimal(0))  # type: ignore[call-overload,no-any-return]
