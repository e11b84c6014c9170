"""A price book as it is written: the members, their types, and nothing else allowed.

Amounts, shares and packs stand here as they were written; `build` reads them, and says better than
a type could what to write instead of a bare number.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec
from msgspec import UNSET, UnsetType

from service.rulesets.schema import Entry, Head, Name, Slug, Sources, Text, Version, VersionName

Written = str | int | float | bool
"""Text that is read as an amount, a share or a pack; the other types are refused by name."""

Rounding = Literal["half_up", "half_even", "up"]
Part = Literal["materials", "labour", "fees"]


class PriceEntry(Entry, frozen=True, kw_only=True):
    """What one pack of an item costs. `pack` is a length for mesh and a count for all else.

    `width` stands where the item is sold by width. `breaks` is the price a pack from so many packs
    on.
    """

    item: Name
    width: Written | UnsetType = UNSET
    pack: Written
    price: Written
    breaks: Annotated[dict[str, Written], msgspec.Meta(max_length=100)] = {}
    means: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET


class LabourEntry(Entry, frozen=True, kw_only=True):
    """What an hour of one person costs."""

    hour: Written
    source: Slug | UnsetType = UNSET


class FeeEntry(Entry, frozen=True, kw_only=True):
    """An amount that a job costs once."""

    means: Text
    amount: Written
    source: Slug | UnsetType = UNSET


class MarkUpEntry(Entry, frozen=True, kw_only=True):
    """What is put on a cost: `mark_up` is a share of the cost, `margin` one of the price."""

    kind: Literal["mark_up", "margin"]
    share: Written


class TaxEntry(Entry, frozen=True, kw_only=True):
    """A tax, as a share of the parts of the price that it is on."""

    means: Text
    share: Written
    on: Annotated[
        list[Part],
        msgspec.Meta(min_length=1, max_length=3, extra_json_schema={"uniqueItems": True}),
    ]
    source: Slug | UnsetType = UNSET


Prices = Annotated[dict[Name, PriceEntry], msgspec.Meta(max_length=5000)]
Fees = Annotated[dict[Name, FeeEntry], msgspec.Meta(max_length=100)]
Taxes = Annotated[dict[Name, TaxEntry], msgspec.Meta(max_length=100)]
Marked = Literal["materials", "labour"]
MarkUpEntries = dict[Marked, MarkUpEntry]


class SentBook(Entry, frozen=True, kw_only=True):
    """The content of a price book, as a request may bring it: no head, and sources if you like.

    Amounts are text in the currency, as `"42.00"`; shares are text, as `"30 %"`.
    """

    currency: str
    rounding: Rounding = "half_up"
    sources: Sources = {}
    prices: Prices
    labour: LabourEntry | UnsetType = UNSET
    fees: Fees = {}
    mark_up: MarkUpEntries = {}
    minimum_charge: Written | UnsetType = UNSET
    tax: Taxes = {}


class PriceFile(SentBook, frozen=True, kw_only=True):
    """One version of one price book, whole."""

    id: Slug
    version: Version
    effective: date
    status: Literal["draft", "published", "withdrawn"]
    title: Text
    change: Text
    approved_by: Text
    based_on: VersionName | None = None
    rounding: Rounding
    sources: Sources


class PriceRemoval(Entry, frozen=True, kw_only=True):
    """Ids of entries that an overlay drops."""

    prices: list[Name] = []
    fees: list[Name] = []
    tax: list[Name] = []


class PriceOverlay(Head, frozen=True, kw_only=True):
    """One version of a price book that changes another: only what differs is written."""

    based_on: VersionName
    currency: str | UnsetType = UNSET
    rounding: Rounding | UnsetType = UNSET
    sources: Sources = msgspec.field(default_factory=dict)
    prices: Prices = msgspec.field(default_factory=dict)
    labour: LabourEntry | UnsetType = UNSET
    fees: Fees = msgspec.field(default_factory=dict)
    mark_up: MarkUpEntries = msgspec.field(default_factory=dict)
    minimum_charge: Written | UnsetType = UNSET
    tax: Taxes = msgspec.field(default_factory=dict)
    remove: PriceRemoval = PriceRemoval()
