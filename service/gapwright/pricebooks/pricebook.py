"""A price book as the calculation takes it: resolved, checked, in base units and exact money."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal

import msgspec

from gapwright.pricebooks.money import rounded
from gapwright.pricebooks.schema import Part, Rounding
from gapwright.rulesets.kind import Version


class Break(msgspec.Struct, frozen=True):
    """The price of one pack, where at least `from_packs` of them are bought."""

    from_packs: int
    price: Decimal


class PackPrice(msgspec.Struct, frozen=True, kw_only=True):
    """What packs of one item cost. `pack_size` is nm for mesh, else a count; `width_nm` as sold.

    `breaks` begin with the price of the first pack, and their counts rise.
    """

    id: str
    item: str
    width_nm: int | None
    pack_size: int
    breaks: tuple[Break, ...]
    rule: str

    def at(self, packs: int) -> Decimal:
        """Return the price of each pack where that many are bought."""
        price = self.breaks[0].price
        for step in self.breaks:
            if step.from_packs > packs:
                break
            price = step.price
        return price


class Fee(msgspec.Struct, frozen=True, kw_only=True):
    """An amount that a job costs once."""

    id: str
    description: str
    amount: Decimal
    rule: str


class Markup(msgspec.Struct, frozen=True, kw_only=True):
    """What is put on a cost: `markup` is a share of the cost, `margin` one of the price."""

    kind: Literal["markup", "margin"]
    share: Fraction
    rule: str

    def on(self, cost: Decimal) -> Fraction:
        """Return the price that a cost leads to, exactly and not rounded."""
        if self.kind == "margin":
            return Fraction(cost) / (1 - self.share)
        return Fraction(cost) * (1 + self.share)


class Markups(msgspec.Struct, frozen=True, kw_only=True):
    """The additions to the cost of materials and labor; None if there is none."""

    materials: Markup | None
    labor: Markup | None


class Tax(msgspec.Struct, frozen=True, kw_only=True):
    """A tax, as a share of the parts of the price that it is `on`."""

    id: str
    description: str
    share: Fraction
    on: tuple[Part, ...]
    rule: str


Offer = tuple[str, int | None, int]
"""Item, width [nm] if it is sold by width, and pack size."""


class PriceBook(Version, frozen=True, kw_only=True, eq=False):
    """One version of one price book."""

    currency: str
    places: int
    rounding: Rounding
    prices: tuple[PackPrice, ...]
    hourly_rate: Decimal | None
    fees: tuple[Fee, ...]
    mark_ups: Markups
    minimum: Decimal | None
    taxes: tuple[Tax, ...]
    offers: Mapping[Offer, PackPrice]

    def rounded(self, value: Decimal | Fraction) -> Decimal:
        """Return an amount with the currency's decimals, by the book's rounding rule."""
        return rounded(value, self.places, self.rounding)

    def find(self, item: str, width_nm: int | None, pack_size: int) -> PackPrice | None:
        """Return the price of a pack, None where the book has none.

        An entry without a width applies to every width that has no entry of its own.
        """
        return self.offers.get((item, width_nm, pack_size)) or self.offers.get(
            (item, None, pack_size)
        )
