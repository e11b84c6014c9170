"""A rule file as it is written: the members, their types, and nothing else allowed.

Quantities stand as text here; `build` reads them and checks what they are taken for.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal, TypeVar

import msgspec
from msgspec import UNSET, UnsetType

from gapwright.rulesets.vocabulary import Severity

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=2000)]
Name = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9_]{0,59}$(?!\n)")]
Slug = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9-]{0,59}$(?!\n)")]
Scalar = str | int | bool
T = TypeVar("T")
Section = Annotated[dict[Name, T], msgspec.Meta(max_length=2000)]
"""Entries of a section by their ids."""
Needs = Annotated[dict[Name, T], msgspec.Meta(max_length=50)]
"""Reasons to need an item or a time, by their ids."""
When = dict[Name, Scalar | list[Scalar]]


class Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The strictness that all parts of rule files and price books share."""


class SourceEntry(Entry, frozen=True, kw_only=True):
    """Where an entry comes from, and how well that is known."""

    title: Text
    status: Literal["published", "secondary copy", "from memory", "no source"]


Sources = Annotated[dict[Slug, SourceEntry], msgspec.Meta(max_length=2000)]


class Allowed(Entry, frozen=True, kw_only=True):
    """The range inside which an overlay may move a value; both ends belong to it."""

    min: Scalar
    max: Scalar


class ValueEntry(Entry, frozen=True, kw_only=True):
    """One value, what it means and where it comes from."""

    value: Scalar | list[Scalar]
    description: Text
    source: Slug
    allowed: Allowed | None = None


class ValueChange(Entry, frozen=True, kw_only=True):
    """What an overlay changes in a value; what it leaves out stays as it was."""

    value: Scalar | list[Scalar] | UnsetType = UNSET
    description: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET
    allowed: Allowed | UnsetType = UNSET


class RangeEntry(Entry, frozen=True, kw_only=True):
    """A half-open range of a quantity: `from` belongs to it, `below` does not."""

    at_least: str | None = None
    below: str | None = None


Condition = Scalar | list[Scalar] | RangeEntry


class RowEntry(Entry, frozen=True, kw_only=True):
    """One row of a decision table. What `when` leaves out matches anything."""

    when: dict[Name, Condition] = {}
    then: dict[Name, Text]
    source: Slug


class TableEntry(Entry, frozen=True, kw_only=True):
    """A decision table, with its hit policy in the terms of the DMN standard."""

    description: Text
    hit_policy: Literal["UNIQUE", "FIRST", "PRIORITY", "COLLECT"]
    rows: Section[RowEntry]


class PackEntry(Entry, frozen=True, kw_only=True):
    """What an item is sold in; `pack_size` is a length for mesh and a count for all else."""

    name: Text
    pack_size: Scalar
    also: list[Scalar] = []


class NeedEntry(Entry, frozen=True, kw_only=True):
    """`each` of an item (1 when left out) for every `one_per` of its driver."""

    driver: Name
    each: Annotated[int, msgspec.Meta(ge=1, le=10_000)] = 1
    one_per: Scalar | None = None
    when: When = {}


class ItemEntry(Entry, frozen=True, kw_only=True):
    """One line of the bill."""

    description: Text
    estimate: Needs[NeedEntry]
    count: Needs[NeedEntry] = {}
    """What is needed once a layout has counted; left out, as in the estimate."""
    source: Slug
    unit: Literal["each", "length"] = "each"
    spare: str = "0 %"
    minimum: Annotated[int, msgspec.Meta(ge=0, le=100_000)] = 0
    pack: PackEntry | None = None
    when: When = {}


class ToolEntry(Entry, frozen=True, kw_only=True):
    """A tool for the job."""

    description: Text
    need: Literal["needed", "helpful"]
    source: Slug
    when: When = {}


class CautionEntry(Entry, frozen=True, kw_only=True):
    """A caution, with the signal word of its severity and the facts under which it is given."""

    severity: Severity
    text: Text
    source: Slug
    clause: Text | None = None
    when: When = {}
    locked: bool = False
    """Whether an overlay may neither reword nor drop it."""


class RatioEntry(Entry, frozen=True, kw_only=True):
    """Another ratio for one need of a bill line, inside a zone."""

    one_per: Scalar | None = None
    each: Annotated[int, msgspec.Meta(ge=1, le=10_000)] | None = None


class ZoneEntry(Entry, frozen=True, kw_only=True):
    """What holds instead on edges of this zone: values, and ratios of bill lines by need."""

    description: Text
    source: Slug
    values: dict[Name, Scalar | list[Scalar]] = {}
    bill: Section[Needs[RatioEntry]] = {}


class AssumptionEntry(Entry, frozen=True, kw_only=True):
    """What is taken where a job does not say, and the range in which it likely lies."""

    value: Scalar
    low: Scalar
    high: Scalar
    description: Text
    source: Slug


class AssumptionChange(Entry, frozen=True, kw_only=True):
    """What an overlay changes in an assumption; what it leaves out stays as it was."""

    value: Scalar | UnsetType = UNSET
    low: Scalar | UnsetType = UNSET
    high: Scalar | UnsetType = UNSET
    description: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET


class WorkNeedEntry(Entry, frozen=True, kw_only=True):
    """The time that one person needs for every `one_per` of a driver."""

    driver: Name
    time: Scalar
    one_per: Scalar | None = None
    when: When = {}


class TaskEntry(Entry, frozen=True, kw_only=True):
    """A task on site or before it, and the times that it takes."""

    description: Text
    source: Slug
    job: Needs[WorkNeedEntry] = {}
    """What the job takes as a whole, however its arrays were told."""
    estimate: Needs[WorkNeedEntry] = {}
    count: Needs[WorkNeedEntry] = {}
    """What an array takes once a layout has counted; left out, as in the estimate."""
    when: When = {}


class LaborFactorEntry(Entry, frozen=True, kw_only=True):
    """A share of the time of all tasks that is added under some conditions."""

    description: Text
    share: Scalar
    source: Slug
    when: When = {}


class MeshEntry(Entry, frozen=True, kw_only=True):
    """One property of the mesh, what it means and where it comes from."""

    value: Scalar
    description: Text
    source: Slug


class MeshChange(Entry, frozen=True, kw_only=True):
    """What an overlay changes in a property of the mesh; what it leaves out stays as it was."""

    value: Scalar | UnsetType = UNSET
    description: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET


class ExampleEntry(Entry, frozen=True, kw_only=True):
    """A request to one of the calls, and any part of the answer that it must get."""

    call: Literal["sizing", "materials", "suitability", "layout", "quote"]
    given: dict[str, Any]
    expect: dict[str, Any]


VersionNumber = Annotated[
    str, msgspec.Meta(pattern="^(0|[1-9][0-9]*)[.](0|[1-9][0-9]*)[.](0|[1-9][0-9]*)$(?!\n)")
]
VersionName = Annotated[
    str, msgspec.Meta(pattern="^[a-z][a-z0-9-]{0,59}@[0-9]+[.][0-9]+[.][0-9]+$")
]


class Head(Entry, frozen=True, kw_only=True):
    """What every rule file says of itself."""

    id: Slug
    version: VersionNumber
    effective: date
    status: Literal["draft", "published", "withdrawn"]
    title: Text
    change: Text
    approved_by: Text


class RuleFile(Head, frozen=True, kw_only=True):
    """One version of one rule set, whole."""

    units: Literal["imperial", "metric"]
    based_on: VersionName | None = None
    sources: Sources
    values: Section[ValueEntry]
    tables: Section[TableEntry]
    bill: Section[ItemEntry]
    tools: Section[ToolEntry]
    cautions: Section[CautionEntry]
    zones: Section[ZoneEntry] = {}
    assumptions: Section[AssumptionEntry] = {}
    work: Section[TaskEntry] = {}
    labor_factors: Section[LaborFactorEntry] = {}
    mesh: Section[MeshEntry] = {}
    examples: Section[ExampleEntry] = {}


class TableChange(Entry, frozen=True, kw_only=True):
    """Rows that an overlay adds to a table, or replaces by their id."""

    rows: Section[RowEntry]
    description: Text | UnsetType = UNSET


class Removal(Entry, frozen=True, kw_only=True):
    """Ids of entries that an overlay drops."""

    bill: list[Name] = []
    tools: list[Name] = []
    cautions: list[Name] = []
    zones: list[Name] = []
    assumptions: list[Name] = []
    work: list[Name] = []
    labor_factors: list[Name] = []
    examples: list[Name] = []
    tables: dict[Name, list[Name]] = {}


class OverlayFile(Head, frozen=True, kw_only=True):
    """One version of a rule set that changes another: only what differs is written."""

    based_on: VersionName
    units: Literal["imperial", "metric"] | UnsetType = UNSET
    sources: Sources = {}
    values: Section[ValueChange] = {}
    tables: Section[TableChange] = {}
    bill: Section[ItemEntry] = {}
    tools: Section[ToolEntry] = {}
    cautions: Section[CautionEntry] = {}
    zones: Section[ZoneEntry] = {}
    assumptions: Section[AssumptionChange] = {}
    work: Section[TaskEntry] = {}
    labor_factors: Section[LaborFactorEntry] = {}
    mesh: Section[MeshChange] = {}
    examples: Section[ExampleEntry] = {}
    remove: Removal = Removal()
