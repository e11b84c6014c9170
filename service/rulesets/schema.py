"""A rule file as it is written: the members, their types, and nothing else allowed.

Quantities stand as text here; `build` reads them and checks what they are taken for.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec

from service.rulesets.ruleset import Severity

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=2000)]
Name = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9_]{0,59}$")]
Slug = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9-]{0,59}$")]
Scalar = str | int | bool
When = dict[Name, Scalar | list[Scalar]]


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The strictness that all parts of a rule file share."""


class SourceEntry(_Entry, frozen=True, kw_only=True):
    """Where an entry comes from, and how well that is known."""

    title: Text
    status: Literal["published", "secondary copy", "from memory", "no source"]


class ValueEntry(_Entry, frozen=True, kw_only=True):
    """One value, what it means and where it comes from."""

    value: Scalar | list[Scalar]
    means: Text
    source: Slug


class RangeEntry(_Entry, frozen=True, kw_only=True, rename={"from_": "from"}):
    """A half-open range of a quantity: `from` belongs to it, `below` does not."""

    from_: str | None = None
    below: str | None = None


Condition = Scalar | list[Scalar] | RangeEntry


class RowEntry(_Entry, frozen=True, kw_only=True):
    """One row of a decision table. What `when` leaves out matches anything."""

    when: dict[Name, Condition] = {}
    then: dict[Name, Text]
    source: Slug


class TableEntry(_Entry, frozen=True, kw_only=True):
    """A decision table, with its hit policy in the terms of the DMN standard."""

    means: Text
    hit_policy: Literal["UNIQUE", "FIRST", "COLLECT"]
    rows: dict[Name, RowEntry]


class PackEntry(_Entry, frozen=True, kw_only=True):
    """What an item is sold in; `holds` is a length for mesh and a count for all else."""

    name: Text
    holds: Scalar
    also: list[Scalar] = []


class NeedEntry(_Entry, frozen=True, kw_only=True):
    """`each` of an item (1 when left out) for every `one_per` of its driver."""

    driver: Name
    each: Annotated[int, msgspec.Meta(ge=1, le=10_000)] = 1
    one_per: Scalar | None = None
    when: When = {}


class ItemEntry(_Entry, frozen=True, kw_only=True):
    """One line of the bill."""

    description: Text
    estimate: dict[Name, NeedEntry]
    source: Slug
    unit: Literal["each", "length"] = "each"
    spare: str = "0 %"
    minimum: Annotated[int, msgspec.Meta(ge=0, le=100_000)] = 0
    pack: PackEntry | None = None
    when: When = {}


class ToolEntry(_Entry, frozen=True, kw_only=True):
    """A tool for the job."""

    description: Text
    need: Literal["needed", "helpful"]
    source: Slug
    when: When = {}


class CautionEntry(_Entry, frozen=True, kw_only=True):
    """A caution, with the signal word of its severity and the facts under which it is given."""

    severity: Severity
    text: Text
    source: Slug
    clause: Text | None = None
    when: When = {}


class RuleFile(_Entry, frozen=True, kw_only=True):
    """One version of one rule set."""

    id: Slug
    version: Annotated[
        str, msgspec.Meta(pattern="^(0|[1-9][0-9]*)[.](0|[1-9][0-9]*)[.](0|[1-9][0-9]*)$")
    ]
    effective: date
    status: Literal["draft", "published", "withdrawn"]
    title: Text
    change: Text
    approved_by: Text
    units: Literal["imperial", "metric"]
    sources: dict[Slug, SourceEntry]
    values: dict[Name, ValueEntry]
    tables: dict[Name, TableEntry]
    bill: dict[Name, ItemEntry]
    tools: dict[Name, ToolEntry]
    cautions: dict[Name, CautionEntry]
