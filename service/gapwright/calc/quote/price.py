"""The price of a job by a price book: exact amounts, each rounded once, and sums that add up.

Costs are what the company pays. The markup turns them into the price of materials and labor. Fees
have no markup, the minimum charge adjustment counts as a fee, and taxes are shown separately.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial

import msgspec

from gapwright.calc.quote.order import BillRow, OrderLine
from gapwright.pricebooks.pricebook import Markup, PriceBook, Tax
from gapwright.quantity.output import Money, SectionDown
from gapwright.quantity.show import decimal
from gapwright.rulesets.figures import Figure, present
from gapwright.rulesets.ruleset import RuleSet

_MINUTES = 60
_NOTHING = Decimal(0)


class BookHead(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Which price book the amounts come from, and the digest of its content."""

    id: str
    """The id of the price book, or `inline` for one in the request."""
    version: str
    """Its version."""
    title: str
    """Its title."""
    digest: str
    """The digest of its content: `sha256:` and 64 hexadecimal digits."""


class PriceLine(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What an order line costs. An item without a price is never free: it is to be priced."""

    item: str
    """The id of the item in the rule set."""
    description: str
    """What the item is."""
    strip_width: SectionDown | None
    """The strip width of mesh; null for other items."""
    packs: int
    """Number of packs."""
    pack: str
    """The kind of pack, such as roll or box."""
    each: Money | None
    """The price of one pack, in the currency of the price; null if the price book has none."""
    amount: Money | None
    """The price of all packs; null if the price book has none."""
    to_be_priced: bool
    """Whether the price book has no price."""
    rule: str | None
    """The entry of the price book, by its dotted path; null if it has none."""


class Share(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The cost of a part to the company, the markup, and the resulting price."""

    cost: Money
    """The cost to the company, in the currency of the price."""
    added: Money
    """The markup on it."""
    price: Money
    """Cost plus markup."""


class FeeResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A fee, charged once per job."""

    fee: str
    """The id of the fee in the price book."""
    description: str
    """What the fee is for."""
    amount: Money
    """The amount, in the currency of the price."""
    rule: str
    """The entry of the price book, by its dotted path."""


class TaxResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A tax: its rate [percent], its base, and its amount."""

    tax: str
    """The id of the tax in the price book."""
    description: str
    """What the tax is."""
    share: float
    """The rate in percent."""
    of: Money
    """The amount that is taxed, in the currency of the price."""
    amount: Money
    """The tax."""
    rule: str
    """The entry of the price book, by its dotted path."""


class PriceResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The price. The subtotal is materials, labor, fees, and the minimum charge adjustment.

    `total` adds the taxes. It is null until every item has a price: `to_be_priced` names the items
    that have none, and `subtotal` then includes only the others. `labor` is null without a rate.
    `firm` is true if no open item can change the price; `open_items` lists them. Site flags that
    were not given are assumed false and are not open items: they would change the verdict first.
    `suitability.assumptions` lists each of them, to be checked before the job is sold.

    `minimum_charge_adjustment` raises the price to the minimum charge. It is taxed like a fee, and
    is zero while an item has no price.
    """

    firm: bool
    """Whether no open item can change the price."""
    open_items: tuple[str, ...]
    """The open items, one sentence each."""
    book: BookHead
    """The price book."""
    currency: str
    """The currency of all amounts, by its ISO 4217 code."""
    lines: tuple[PriceLine, ...]
    """The price of each order line."""
    materials: Share
    """Cost, markup and price of all materials."""
    labor: Share | None
    """Cost, markup and price of the work; null without an hourly rate."""
    fees: tuple[FeeResult, ...]
    """The fees."""
    minimum_charge_adjustment: Money
    """What is added to reach the minimum charge."""
    subtotal: Money
    """The price before taxes."""
    taxes: tuple[TaxResult, ...]
    """The taxes."""
    total: Money | None
    """The price with taxes; null until every item has a price."""
    to_be_priced: tuple[str, ...]
    """The items that the price book has no price for."""


class Price(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of a price."""

    book: PriceBook
    lines: tuple[Figure[PriceLine | None], ...]
    materials: Figure[Share]
    labor: Figure[Share] | None
    minimum_charge_adjustment: Figure[Money]
    subtotal: Figure[Money]
    taxes: tuple[Figure[TaxResult], ...]
    to_be_priced: Figure[tuple[str, ...]]
    total: Figure[Money | None]

    def result(self, open_items: tuple[str, ...], rules: RuleSet) -> PriceResult:
        """Return the price for an answer; `open_items` says what is open."""
        book, show = self.book, rules.show
        total = show("/total", self.total)
        return PriceResult(
            firm=not open_items,
            open_items=open_items,
            book=BookHead(id=book.id, version=book.version, title=book.title, digest=book.digest),
            currency=book.currency,
            lines=rules.show_each("/lines", self.lines),
            materials=show("/materials", self.materials),
            labor=show("/labor", self.labor) if self.labor else None,
            fees=tuple(
                FeeResult(
                    fee=fee.id,
                    description=fee.description,
                    amount=money(fee.amount, book),
                    rule=fee.rule,
                )
                for fee in book.fees
            ),
            minimum_charge_adjustment=show(
                "/minimum_charge_adjustment", self.minimum_charge_adjustment
            ),
            subtotal=show("/subtotal", self.subtotal),
            taxes=rules.show_each("/taxes", self.taxes),
            total=total,
            to_be_priced=show("/to_be_priced", self.to_be_priced),
        )


def price_of(
    rows: Figure[tuple[BillRow, ...]],
    person_minutes: Figure[Fraction] | None,
    book: PriceBook,
    rules: RuleSet,
) -> Price:
    """Return the price of what is ordered and worked; `person_minutes` None: hours not known."""
    figure = rules.figure
    lines = tuple(figure(partial(_priced, row.order, book)) for row in rows.value)
    open_items = figure(lambda: _open(rows, person_minutes, book))
    materials = figure(
        lambda: _share(_sum(line.amount for line in present(lines)), book, "materials")
    )
    labor = None
    if person_minutes is not None and book.hourly_rate is not None:
        labor = figure(lambda: _labor(person_minutes.value, book))

    fees = sum((fee.amount for fee in book.fees), _NOTHING)
    before_minimum = {
        "materials": figure(lambda: materials.value.price.amount),
        "labor": figure(lambda: labor.value.price.amount if labor else _NOTHING),
        "fees": Figure(fees),
    }

    def minimum_charge_adjustment() -> Money:
        if book.minimum is None or open_items.value:
            return money(_NOTHING, book)
        known = sum(part.value for part in before_minimum.values())
        return money(max(book.minimum - known, _NOTHING), book)

    added = figure(minimum_charge_adjustment)
    parts = {**before_minimum, "fees": figure(lambda: fees + added.value.amount)}
    subtotal = figure(lambda: money(sum((part.value for part in parts.values()), _NOTHING), book))
    taxes = tuple(figure(partial(_taxed, tax, parts, book)) for tax in book.taxes)

    def total() -> Money | None:
        if open_items.value:
            return None
        return money(subtotal.value.amount + _sum(tax.value.amount for tax in taxes), book)

    return Price(
        book=book,
        lines=lines,
        materials=materials,
        labor=labor,
        minimum_charge_adjustment=added,
        subtotal=subtotal,
        taxes=taxes,
        to_be_priced=open_items,
        total=figure(total),
    )


def money(amount: Decimal | Fraction, book: PriceBook) -> Money:
    """Return an amount with the decimals of the book's currency."""
    return Money(book.rounded(amount))


def _priced(ordered: Figure[OrderLine | None], book: PriceBook) -> PriceLine | None:
    order = ordered.value
    if order is None:
        return None
    width = order.strip_width
    found = book.find(order.item, width.nm if width else None, order.pack_size.amount)
    each = found.at(order.packs) if found else None
    return PriceLine(
        item=order.item,
        description=order.description,
        strip_width=width,
        packs=order.packs,
        pack=order.pack,
        each=None if each is None else money(each, book),
        amount=None if each is None else money(each * order.packs, book),
        to_be_priced=each is None,
        rule=found.rule if found else None,
    )


def _open(
    rows: Figure[tuple[BillRow, ...]],
    person_minutes: Figure[Fraction] | None,
    book: PriceBook,
) -> tuple[str, ...]:
    """Return what is to be priced: items that are ordered, or `labor`."""
    names = [
        row.item.id
        for row in rows.value
        if not book.find(row.item.id, row.width_nm, row.pack_size.value) and row.order.value
    ]
    if person_minutes is None or book.hourly_rate is None:
        names.append("labor")
    return tuple(dict.fromkeys(names))


def _labor(person_minutes: Fraction, book: PriceBook) -> Share:
    assert book.hourly_rate is not None
    return _share(
        book.rounded(person_minutes / _MINUTES * Fraction(book.hourly_rate)), book, "labor"
    )


def _share(cost: Decimal, book: PriceBook, part: str) -> Share:
    markup: Markup | None = getattr(book.mark_ups, part)
    whole_cost = book.rounded(cost)
    price = book.rounded(markup.on(cost) if markup else cost)
    return Share(cost=Money(whole_cost), added=money(price - whole_cost, book), price=Money(price))


def _taxed(tax: Tax, parts: Mapping[str, Figure[Decimal]], book: PriceBook) -> TaxResult:
    """Return a tax; what a minimum charge adds counts as a fee."""
    of = sum((parts[name].value for name in tax.on), _NOTHING)
    return TaxResult(
        tax=tax.id,
        description=tax.description,
        share=decimal(float(tax.share * 100)),
        of=money(of, book),
        amount=money(Fraction(of) * tax.share, book),
        rule=tax.rule,
    )


def _sum(amounts: Iterable[Money | None]) -> Decimal:
    return sum((one.amount for one in amounts if one is not None), _NOTHING)
