"""The quote request: a job with one or more arrays on one or more roof planes."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

import msgspec

from gapwright.calls.array import (
    ArrayDetails,
    PlaneName,
    array_or,
    empty_faults,
    too_many_faults,
)
from gapwright.calls.request import BaseRequest, Path, exactly_one
from gapwright.errors import Fault
from gapwright.facts import Bending, Clearance, Covering, Joining, Painted, Pitch, Racking, Site
from gapwright.pricebooks.schema import SentBook
from gapwright.quantity.kinds import Gap, ModuleSide, Perimeter, RollLength, WorkingDay

_MEASURES = {"perimeter": "string", "grid": "object", "modules": "object"}
"""The members that give the size of an array, with their JSON types."""

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
    reference: Line = ""
    place: Line = ""
    customer: Line = ""
    prepared_by: Line = ""
    note: Annotated[str, msgspec.Meta(max_length=600)] = ""


class GridInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Modules in rows and columns. The rule set assumes sizes and gaps that are not given."""

    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    columns: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    long_side: ModuleSide | None = None
    short_side: ModuleSide | None = None
    gap: Gap | None = None
    orientation: Literal["portrait", "landscape"] = "portrait"


class ModuleCountInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number of modules, in rows that are as equal as possible, longer rows together.

    The rule set assumes rows, sizes and gaps that are not given.
    """

    count: Annotated[int, msgspec.Meta(ge=1, le=20_000)]
    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)] | None = None
    long_side: ModuleSide | None = None
    short_side: ModuleSide | None = None
    gap: Gap | None = None
    orientation: Literal["portrait", "landscape"] = "portrait"


class EstimateArrayInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One array for a quick estimate: its perimeter, its grid, or its number of modules."""

    also: ClassVar[dict[str, Any]] = exactly_one(_MEASURES)

    name: PlaneName = ""
    perimeter: Perimeter | None = None
    grid: GridInput | None = None
    modules: ModuleCountInput | None = None
    corners: Count | None = None
    penetrations: Count = 0
    clearance: Clearance | None = None


class QuotePlaneInput(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: `arrays` for a quick estimate, or a drawn `array` to be laid out.

    A drawn array is given as in a layout request: `array`, `rails`, `penetrations`, `sides` and
    `facings`.
    """

    also: ClassVar[dict[str, Any]] = array_or("arrays")

    name: PlaneName = ""
    clearance: Annotated[
        Clearance | None,
        msgspec.Meta(
            description="Clearance of this plane, in place of that of the job. Readings of an"
            " array, a side or a facing take precedence."
        ),
    ] = None
    arrays: Annotated[tuple[EstimateArrayInput, ...], msgspec.Meta(max_length=100)] = ()


class QuoteRequest(BaseRequest, frozen=True, kw_only=True):
    """Quote a whole job: suitability, sizing, layout or estimate, materials, labor, price.

    Leave out what you do not know. The rule set assumes it, and the answer lists each assumption
    with its effect on the price.
    """

    planes: Annotated[tuple[QuotePlaneInput, ...], msgspec.Meta(min_length=1, max_length=50)]
    job: JobInput = JobInput()
    roof_covering: Annotated[Covering, msgspec.Meta(description="Roof covering.")] = "unknown"
    racking: Annotated[Racking, msgspec.Meta(description="Racking type.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="Findings on site.")] = Site()
    pitch: Annotated[
        Pitch | None,
        msgspec.Meta(
            description="Pitch of the steepest plane. If left out, no labor factor is added for it."
        ),
    ] = None
    stories: Annotated[int, msgspec.Meta(ge=1, le=60)] | None = None
    joining: Joining = "rings"
    finish: Painted = "prepainted"
    bending: Bending = "hand"
    crew: Annotated[int, msgspec.Meta(ge=2, le=50)] | None = None
    working_day: WorkingDay | None = None
    roll_length: RollLength | None = None
    prices: Annotated[
        PriceBookName | SentBook | None,
        msgspec.Meta(
            description="Name of a price book, or a price book itself. Default: that of the"
            " service."
        ),
    ] = None
    alternatives: Annotated[
        bool, msgspec.Meta(description="Add `alternatives`: other choices and what they change.")
    ] = False

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
        return [Fault(path=(*path, "arrays"), problem="Required field is missing.", remedy=remedy)]
    return [
        Fault(
            path=(*path, name),
            problem="This field needs a drawn array.",
            remedy="Give array, or remove this field.",
        )
        for name in plane.details_given()
    ]


def _area_faults(area: EstimateArrayInput, path: Path) -> list[Fault]:
    given = [name for name in _MEASURES if getattr(area, name) is not None]
    if len(given) == 1:
        return []
    problem = (
        f"Expected one size; got {' and '.join(given)}."
        if given
        else "The size of the array is missing."
    )
    remedy = "Give exactly one of perimeter, grid and modules."
    return [Fault(path=path, problem=problem, remedy=remedy)]
