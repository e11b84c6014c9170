"""The fields of a rule file and their types; nothing else is allowed.

Quantities are text here; `build` parses and validates them.
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
"""Entries of a section by id."""
Needs = Annotated[dict[Name, T], msgspec.Meta(max_length=50)]
"""Needs for an item or a time, by id."""
When = dict[Name, Scalar | list[Scalar]]


class Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base class of all parts of rule files: unknown fields are errors."""


class SourceEntry(Entry, frozen=True, kw_only=True):
    """Where an entry comes from, and how reliable that is."""

    title: Text
    """The title of the source, with its edition and place."""
    status: Literal["published", "secondary copy", "from memory", "no source"]
    """How reliable the source is."""


Sources = Annotated[dict[Slug, SourceEntry], msgspec.Meta(max_length=2000)]


class Allowed(Entry, frozen=True, kw_only=True):
    """The range in which an overlay can change a value, including both ends."""

    min: Scalar
    max: Scalar


class ValueEntry(Entry, frozen=True, kw_only=True):
    """One value, its description, and its source."""

    value: Scalar | list[Scalar]
    description: Text
    source: Slug
    allowed: Allowed | None = None


class ValueChange(Entry, frozen=True, kw_only=True):
    """The fields of a value that an overlay changes; the rest are inherited."""

    value: Scalar | list[Scalar] | UnsetType = UNSET
    description: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET
    allowed: Allowed | UnsetType = UNSET


class RangeEntry(Entry, frozen=True, kw_only=True):
    """A half-open range of a quantity: `at_least` is included, `below` is not."""

    at_least: str | None = None
    below: str | None = None


Condition = Scalar | list[Scalar] | RangeEntry


class RowEntry(Entry, frozen=True, kw_only=True):
    """One row of a decision table. Facts that `when` does not list can have any value."""

    when: dict[Name, Condition] = {}
    then: dict[Name, Text]
    source: Slug


class TableEntry(Entry, frozen=True, kw_only=True):
    """A decision table, with its hit policy as defined in the DMN standard."""

    description: Text
    hit_policy: Literal["UNIQUE", "FIRST", "PRIORITY", "COLLECT"]
    rows: Section[RowEntry]


class PackEntry(Entry, frozen=True, kw_only=True):
    """The pack that an item is sold in. `pack_size` is a length for mesh, otherwise a count."""

    name: Text
    pack_size: Scalar
    also: list[Scalar] = []


class NeedEntry(Entry, frozen=True, kw_only=True):
    """`each` of an item (default 1) for every `one_per` of its driver."""

    driver: Name
    each: Annotated[int, msgspec.Meta(ge=1, le=10_000)] = 1
    one_per: Scalar | None = None
    when: When = {}


class ItemEntry(Entry, frozen=True, kw_only=True):
    """One line of the bill."""

    description: Text
    estimate: Needs[NeedEntry]
    count: Needs[NeedEntry] = {}
    """The needs with a layout; by default, those of the estimate."""
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
    """A caution, its signal word, and the facts under which it applies."""

    severity: Severity
    text: Text
    source: Slug
    clause: Text | None = None
    when: When = {}
    locked: bool = False
    """Whether overlays are prevented from changing or removing it."""


class RatioEntry(Entry, frozen=True, kw_only=True):
    """A different ratio for one need of a bill line, inside a zone."""

    one_per: Scalar | None = None
    each: Annotated[int, msgspec.Meta(ge=1, le=10_000)] | None = None


class ZoneEntry(Entry, frozen=True, kw_only=True):
    """What applies to sides in this zone instead: values, and ratios of bill lines by need."""

    description: Text
    source: Slug
    values: dict[Name, Scalar | list[Scalar]] = {}
    bill: Section[Needs[RatioEntry]] = {}


class AssumptionEntry(Entry, frozen=True, kw_only=True):
    """What is assumed if a job does not say, and the likely range."""

    value: Scalar
    low: Scalar
    high: Scalar
    description: Text
    source: Slug


class AssumptionChange(Entry, frozen=True, kw_only=True):
    """The fields of an assumption that an overlay changes; the rest are inherited."""

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
    """A task on or off site, and the times that it takes."""

    description: Text
    source: Slug
    job: Needs[WorkNeedEntry] = {}
    """The time for the whole job, no matter how its arrays are described."""
    estimate: Needs[WorkNeedEntry] = {}
    count: Needs[WorkNeedEntry] = {}
    """The time for an array with a layout; by default, that of the estimate."""
    when: When = {}


class LaborFactorEntry(Entry, frozen=True, kw_only=True):
    """A share added to the time of all tasks under some conditions."""

    description: Text
    share: Scalar
    source: Slug
    when: When = {}


class MeshEntry(Entry, frozen=True, kw_only=True):
    """One property of the mesh, its description, and its source."""

    value: Scalar
    description: Text
    source: Slug


class MeshChange(Entry, frozen=True, kw_only=True):
    """The fields of a mesh property that an overlay changes; the rest are inherited."""

    value: Scalar | UnsetType = UNSET
    description: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET


class ExampleEntry(Entry, frozen=True, kw_only=True):
    """A request to one of the endpoints, and the part of the answer to check."""

    call: Literal["sizing", "materials", "suitability", "layout", "quote"]
    given: dict[str, Any]
    expect: dict[str, Any]


VersionNumber = Annotated[
    str,
    msgspec.Meta(
        pattern="^(0|[1-9][0-9]*)[.](0|[1-9][0-9]*)[.](0|[1-9][0-9]*)$(?!\n)", examples=["1.0.0"]
    ),
]
VersionName = Annotated[
    str,
    msgspec.Meta(
        pattern="^[a-z][a-z0-9-]{0,59}@[0-9]+[.][0-9]+[.][0-9]+$", examples=["baseline@1.0.0"]
    ),
]


class Head(Entry, frozen=True, kw_only=True):
    """The fields that describe the file itself."""

    id: Slug
    version: VersionNumber
    effective: date
    status: Literal["draft", "published", "withdrawn"]
    title: Text
    change: Text
    approved_by: Text


class RuleFile(Head, frozen=True, kw_only=True):
    """One complete version of a rule set."""

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
    """Rows that an overlay adds to a table, or replaces by id."""

    rows: Section[RowEntry]
    description: Text | UnsetType = UNSET


class Removal(Entry, frozen=True, kw_only=True):
    """Ids of entries that an overlay removes."""

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
    """One version of a rule set that changes another. It contains only the differences."""

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
