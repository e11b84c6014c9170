"""The fields of a price book and their types; nothing else is allowed.

Amounts, shares, and packs have the type Any: `build` parses them, with better messages. Their
JSON Schemas say how to write them.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, UnsetType

from gapwright.rulesets.schema import Head, Name, Slug, Sources, Text, VersionName, VersionNumber


def _text(description: str, example: str, **more: Any) -> msgspec.Meta:  # noqa: ANN401
    """Return the schema of text that `build` parses."""
    said = {"type": "string", "description": description, "examples": [example], **more}
    return msgspec.Meta(extra_json_schema=said)


NO_MONEY = frozenset(
    "BOV CHE CHW CLF COU MXV USN UYI UYW XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX".split()  # noqa: SIM905, E501
)
"""ISO 4217 codes that are not payment currencies: metals, tests, units of account."""

_LENGTH = "A length, from 1 in to 20000 ft."
_COUNT = {"type": "integer", "minimum": 1, "maximum": 1_000_000}
_LONG = {"type": "string", "description": _LENGTH, "examples": ["100 ft"]}

Amount = Annotated[
    Any,
    _text(
        "An amount in the book's currency, as text.",
        "42.00",
        pattern="^((0|[1-9][0-9]{0,8})([.][0-9]{1,3})?|1000000000([.]0{1,3})?)$(?!\n)",
    ),
]
Width = Annotated[
    Any,
    msgspec.Meta(
        extra_json_schema={
            "type": "string",
            "description": _LENGTH,
            "examples": ["8 in", "200 mm"],
        }
    ),
]
PackSize = Annotated[Any, msgspec.Meta(extra_json_schema={"anyOf": [_COUNT, _LONG]})]
Markup = Annotated[Any, _text("A share, from 0 % to 1000 %; a margin is at most 99 %.", "30 %")]
TaxShare = Annotated[Any, _text("A share, from 0 % to 100 %.", "8.25 %")]
Currency = Annotated[
    str,
    _text(
        "An ISO 4217 currency code.",
        "USD",
        pattern="^[A-Z]{3}$(?!\n)",
        **{"not": {"enum": sorted(NO_MONEY)}},
    ),
]
Breaks = Annotated[
    dict[str, Amount],
    msgspec.Meta(
        max_length=100,
        extra_json_schema={"propertyNames": {"pattern": "^([2-9]|[1-9][0-9]{1,5}|1000000)$(?!\n)"}},
    ),
]

Rounding = Literal["half_up", "half_even", "up"]
Part = Literal["materials", "labor", "fees"]


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base class of all parts of a price book: unknown fields are errors."""


class PriceEntry(_Entry, frozen=True, kw_only=True):
    """The price of one pack of an item. `pack` is a length for mesh, otherwise a count.

    `width` is for items sold by width. `breaks` has volume prices: the price per pack from a number
    of packs on.
    """

    item: Name
    """The id of the item in the rule set."""
    width: Width = UNSET
    """The strip width, for items sold by width. A length, from 1 in to 20000 ft, as text with its
    unit.
    """
    pack: PackSize
    """Content of one pack: a length for mesh, otherwise a count."""
    price: Amount
    """The price of one pack, in the book's currency, as text."""
    breaks: Breaks = {}
    """Volume prices: the price of one pack, by the number of packs from which it applies."""
    description: Text | UnsetType = UNSET
    """What is sold."""
    source: Slug | UnsetType = UNSET
    """The id of the source in `sources`."""


class LaborEntry(_Entry, frozen=True, kw_only=True):
    """The price of one person-hour."""

    hourly_rate: Amount
    """The price of one person-hour, in the book's currency, as text."""
    source: Slug | UnsetType = UNSET
    """The id of the source in `sources`."""


class FeeEntry(_Entry, frozen=True, kw_only=True):
    """A fixed amount per job."""

    description: Text
    """What the fee is for."""
    amount: Amount
    """The amount per job, in the book's currency, as text."""
    source: Slug | UnsetType = UNSET
    """The id of the source in `sources`."""


class MarkupEntry(_Entry, frozen=True, kw_only=True):
    """An addition to a cost: `markup` is a share of the cost, `margin` a share of the price."""

    kind: Literal["markup", "margin"]
    """`markup` is a share of the cost, `margin` a share of the price."""
    share: Markup
    """The share in percent, from 0 % to 1000 %, as text. A margin is at most 99 %."""


class TaxEntry(_Entry, frozen=True, kw_only=True):
    """A tax, as a share of some parts of the price."""

    description: Text
    """What the tax is."""
    share: TaxShare
    """The rate in percent, from 0 % to 100 %, as text."""
    on: Annotated[
        list[Part],
        msgspec.Meta(min_length=1, max_length=3, extra_json_schema={"uniqueItems": True}),
    ]
    """The parts of the price that are taxed."""
    source: Slug | UnsetType = UNSET
    """The id of the source in `sources`."""


Prices = Annotated[dict[Name, PriceEntry], msgspec.Meta(max_length=5000)]
Fees = Annotated[dict[Name, FeeEntry], msgspec.Meta(max_length=100)]
Taxes = Annotated[dict[Name, TaxEntry], msgspec.Meta(max_length=100)]
Marked = Literal["materials", "labor"]
MarkupEntries = dict[Marked, MarkupEntry]


class SentBook(_Entry, frozen=True, kw_only=True):
    """A price book in a request: the content without the head. Sources are optional.

    Amounts are text, such as `"42.00"`. Shares are text, such as `"30 %"`.
    """

    currency: Currency
    """The currency of all amounts, by its ISO 4217 code."""
    rounding: Rounding = "half_up"
    """How each amount is rounded to the decimals of the currency."""
    sources: Sources = {}
    """The sources of entries, by id."""
    prices: Prices
    """The price of each item, by an id of the entry."""
    labor: LaborEntry | UnsetType = UNSET
    """The price of work."""
    fees: Fees = {}
    """Amounts per job, by id."""
    markup: MarkupEntries = {}
    """The additions to the cost of materials and of labor."""
    minimum_charge: Amount = UNSET
    """The lowest price before taxes, in the book's currency, as text."""
    tax: Taxes = {}
    """The taxes, by id."""


class PriceFile(SentBook, frozen=True, kw_only=True):
    """One complete version of a price book."""

    id: Slug
    version: VersionNumber
    effective: date
    status: Literal["draft", "published", "withdrawn"]
    title: Text
    change: Text
    approved_by: Text
    based_on: VersionName | None = None
    rounding: Rounding
    sources: Sources


class PriceRemoval(_Entry, frozen=True, kw_only=True):
    """Ids of entries that an overlay removes."""

    prices: list[Name] = []
    fees: list[Name] = []
    tax: list[Name] = []


class PriceOverlay(Head, frozen=True, kw_only=True):
    """One version of a price book that changes another. It contains only the differences."""

    based_on: VersionName
    currency: Currency | UnsetType = UNSET
    rounding: Rounding | UnsetType = UNSET
    sources: Sources = msgspec.field(default_factory=dict)
    prices: Prices = msgspec.field(default_factory=dict)
    labor: LaborEntry | UnsetType = UNSET
    fees: Fees = msgspec.field(default_factory=dict)
    markup: MarkupEntries = msgspec.field(default_factory=dict)
    minimum_charge: Amount = UNSET
    tax: Taxes = msgspec.field(default_factory=dict)
    remove: PriceRemoval = PriceRemoval()
