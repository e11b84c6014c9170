"""The quote request: a job with one or more arrays on one or more roof planes."""

from __future__ import annotations

from typing import Annotated

import msgspec

from gapwright.calls.array import (
    ArrayDetails,
    Orientation,
    PlaneName,
    empty_faults,
    too_many_faults,
)
from gapwright.calls.request import BaseRequest, Path
from gapwright.errors import Fault
from gapwright.facts import Bending, Clearance, Covering, Joining, Painted, Pitch, Racking, Site
from gapwright.pricebooks.schema import SentBook
from gapwright.quantity.kinds import Gap, ModuleSide, Perimeter, RollLength, WorkingDay

_SIZES = ("perimeter", "grid", "modules")
"""The members that give the size of an array."""

Line = Annotated[str, msgspec.Meta(max_length=120)]
Count = Annotated[int, msgspec.Meta(ge=0, le=1000)]
PriceBookName = Annotated[
    str,
    msgspec.Meta(
        max_length=80,
        description="A price book (`demo`) or one version of it (`demo@1.0.0`).",
        examples=["demo", "demo@1.0.0"],
        extra_json_schema={"format": "pricebook-name"},
    ),
]


class JobInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Heading of the crew sheet. Nothing is computed from it."""

    title: Line = ""
    """Title of the job."""
    reference: Line = ""
    """Reference number of the job."""
    place: Line = ""
    """Address of the job."""
    customer: Line = ""
    """Name of the customer."""
    prepared_by: Line = ""
    """Who prepared the quote."""
    note: Annotated[str, msgspec.Meta(max_length=600)] = ""
    """A note to the crew."""


class GridInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Modules in rows and columns. The rule set assumes sizes and gaps that are not given."""

    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    """Number of rows, up the slope."""
    columns: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    """Number of columns, along the eave."""
    long_side: ModuleSide | None = None
    """Long side of a module. Default: by the rule set."""
    short_side: ModuleSide | None = None
    """Short side of a module. Default: by the rule set."""
    gap: Gap | None = None
    """Gap between modules. Default: by the rule set."""
    orientation: Orientation = "portrait"
    """`portrait`: the long side runs up the slope."""


class ModuleCountInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number of modules, in rows that are as equal as possible, longer rows together.

    The rule set assumes rows, sizes and gaps that are not given.
    """

    count: Annotated[int, msgspec.Meta(ge=1, le=20_000)]
    """Number of modules."""
    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)] | None = None
    """Number of rows. Default: by the rule set."""
    long_side: ModuleSide | None = None
    """Long side of a module. Default: by the rule set."""
    short_side: ModuleSide | None = None
    """Short side of a module. Default: by the rule set."""
    gap: Gap | None = None
    """Gap between modules. Default: by the rule set."""
    orientation: Orientation = "portrait"
    """`portrait`: the long side runs up the slope."""


class EstimateArrayInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One array for a quick estimate.

    Give exactly one of `perimeter`, `grid` and `modules`.
    """

    name: PlaneName = ""
    """Name of the array. Left out: its number."""
    perimeter: Perimeter | None = None
    """Length around the array. Give this, `grid`, or `modules`."""
    grid: GridInput | None = None
    """Modules in rows and columns, in place of a perimeter."""
    modules: ModuleCountInput | None = None
    """Number of modules, in place of a perimeter."""
    corners: Count | None = None
    """Number of corners. Default: `default_corners` of the rule set."""
    penetrations: Count = 0
    """Number of conduits, pipes and vents at the perimeter."""
    clearance: Clearance | None = None
    """Readings at this array, in place of those of its plane or of the job."""


class QuotePlaneInput(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: `arrays` for a quick estimate, or a drawn `array` to be laid out.

    Give exactly one of the two. A drawn array is given as in a layout request: `array`, `rails`,
    `penetrations`, `sides` and `facings`.
    """

    name: PlaneName = ""
    """Name of the roof plane. Left out: its number, starting at 1."""
    clearance: Clearance | None = None
    """Clearance of this plane, in place of that of the job. Readings of an array, a side or a
    facing take precedence.
    """
    arrays: Annotated[tuple[EstimateArrayInput, ...], msgspec.Meta(max_length=100)] = ()
    """Arrays for a quick estimate, in place of a drawn `array` and its details."""


class QuoteRequest(BaseRequest, frozen=True, kw_only=True):
    """Quote a whole job: suitability, sizing, layout or estimate, materials, labor, price.

    Leave out what you do not know. The rule set assumes it, and the answer lists each assumption
    with its effect on the price.
    """

    planes: Annotated[tuple[QuotePlaneInput, ...], msgspec.Meta(min_length=1, max_length=50)]
    """The roof planes of the job."""
    job: JobInput = JobInput()
    """Heading of the crew sheet."""
    roof_covering: Covering = "unknown"
    """Roof covering."""
    racking: Racking = "unknown"
    """Racking type."""
    clearance: Clearance | None = None
    """Readings of the clearance, for everything without readings of its own."""
    site: Site = Site()
    """Findings on site."""
    pitch: Pitch | None = None
    """Pitch of the steepest plane. If left out, no labor factor is added for it."""
    stories: Annotated[int, msgspec.Meta(ge=1, le=60)] | None = None
    """Stories of the building. If left out, no labor factor is added for them."""
    joining: Joining = "rings"
    """How overlaps are joined."""
    finish: Painted = "prepainted"
    """Whether parts are bought prepainted or sprayed."""
    bending: Bending = "hand"
    """Whether the channel is bent by hand or with a bending brake."""
    crew: Annotated[int, msgspec.Meta(ge=2, le=50)] | None = None
    """Number of people. Default: by the rule set."""
    working_day: WorkingDay | None = None
    """Time on site in a day. Default: by the rule set."""
    roll_length: RollLength | None = None
    """A roll length from the rule set. Default: its first."""
    prices: PriceBookName | SentBook | None = None
    """Name of a price book, or a price book itself. Default: that of the service."""
    alternatives: bool = False
    """Add `alternatives`: other choices and what they change."""

    def faults(self) -> list[Fault]:
        """Return the faults of planes: given in two forms, empty, or with too many modules."""
        drawn = [plane.array for plane in self.planes if plane.array is not None]
        found = too_many_faults(drawn, ("planes",))
        for at, plane in enumerate(self.planes):
            path = ("planes", at)
            found += _plane_faults(plane, path)
            for number, area in enumerate(plane.arrays):
                found += _area_faults(area, (*path, "arrays", number))
        return found


def _plane_faults(plane: QuotePlaneInput, path: Path) -> list[Fault]:
    if plane.array is not None and plane.arrays:
        problem = "Both array and arrays are given."
        remedy = "Give one of them, or split them into two planes."
        return [Fault(path=(*path, "arrays"), problem=problem, remedy=remedy)]
    if plane.array is not None:
        return [*empty_faults(plane.array, (*path, "array")), *plane.detail_faults(path)]
    if not plane.arrays:
        remedy = "Give arrays for an estimate, or array for a layout."
        missing = "This required field is missing."
        return [Fault(path=(*path, "arrays"), problem=missing, remedy=remedy)]
    return [
        Fault(
            path=(*path, name),
            problem="This field needs a drawn array.",
            remedy="Give array, or remove this field.",
        )
        for name in plane.details_given()
    ]


def _area_faults(area: EstimateArrayInput, path: Path) -> list[Fault]:
    given = [name for name in _SIZES if getattr(area, name) is not None]
    if len(given) == 1:
        return []
    problem = (
        f"Expected one size; got {' and '.join(given)}."
        if given
        else "The size of the array is missing."
    )
    remedy = "Give exactly one of perimeter, grid and modules."
    return [Fault(path=path, problem=problem, remedy=remedy)]
