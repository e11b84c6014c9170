"""The wire forms of a quote request: a job with one or many arrays on one or many roof planes."""

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
from gapwright.calls.request import Form, Path, exactly_one
from gapwright.errors import Fault
from gapwright.facts import Bending, Clearance, Covering, Joining, Painted, Pitch, Racking, Site
from gapwright.pricebooks.schema import SentBook
from gapwright.quantity.kinds import Gap, ModuleSide, Perimeter, RollLength, WorkingDay

_MEASURES = {"perimeter": "string", "grid": "object", "modules": "object"}
"""What can measure an array, and the type of each in JSON."""

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


class JobForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the crew sheet says at its head; nothing is computed from it."""

    title: Line = ""
    reference: Line = ""
    place: Line = ""
    customer: Line = ""
    prepared_by: Line = ""
    note: Annotated[str, msgspec.Meta(max_length=600)] = ""


class GridForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Modules in rows and columns; what is left out is assumed by the rule set."""

    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    columns: Annotated[int, msgspec.Meta(ge=1, le=1000)]
    long_side: ModuleSide | None = None
    short_side: ModuleSide | None = None
    gap: Gap | None = None
    orientation: Literal["portrait", "landscape"] = "portrait"


class CountForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """So many modules, in rows as equal as they can be, the longer ones together.

    What is left out is assumed.
    """

    count: Annotated[int, msgspec.Meta(ge=1, le=20_000)]
    rows: Annotated[int, msgspec.Meta(ge=1, le=1000)] | None = None
    long_side: ModuleSide | None = None
    short_side: ModuleSide | None = None
    gap: Gap | None = None
    orientation: Literal["portrait", "landscape"] = "portrait"


class AreaForm(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One array for the thumb rules: its perimeter, its grid, or how many modules it has."""

    also: ClassVar[dict[str, Any]] = exactly_one(_MEASURES)

    name: PlaneName = ""
    perimeter: Perimeter | None = None
    grid: GridForm | None = None
    modules: CountForm | None = None
    corners: Count | None = None
    penetrations: Count = 0
    clearance: Clearance | None = None


class QuotePlaneForm(ArrayDetails, frozen=True, kw_only=True):
    """One roof plane: arrays for the thumb rules in `arrays`, or drawn ones to be laid out.

    What is drawn is told as in a layout request: `array`, `rails`, `penetrations`, `sides` and
    `facings`.
    """

    also: ClassVar[dict[str, Any]] = array_or("arrays")

    name: PlaneName = ""
    clearance: Annotated[
        Clearance | None,
        msgspec.Meta(
            description="Instead of the readings of the whole job; those of an array, of an edge"
            " or of a facing come before them."
        ),
    ] = None
    arrays: Annotated[tuple[AreaForm, ...], msgspec.Meta(max_length=100)] = ()


class QuoteForm(Form, frozen=True, kw_only=True):
    """Quote a whole job: suitability, sizing, layout or estimate, bill, labour, price, schedule.

    What a caller does not know may be left out: it is taken from the rule set, and each assumption
    is listed with the range that it puts on the price.
    """

    planes: Annotated[tuple[QuotePlaneForm, ...], msgspec.Meta(min_length=1, max_length=50)]
    job: JobForm = JobForm()
    roof_covering: Annotated[
        Covering, msgspec.Meta(description="What the roof is covered with.")
    ] = "unknown"
    racking: Annotated[Racking, msgspec.Meta(description="What the modules stand on.")] = "unknown"
    clearance: Clearance | None = None
    site: Annotated[Site, msgspec.Meta(description="What was found on the roof.")] = Site()
    pitch: Annotated[
        Pitch | None,
        msgspec.Meta(description="The steepest plane; left out: no surcharge is taken for it."),
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
        msgspec.Meta(description="A price book by name, or sent along; left out: the default one."),
    ] = None
    alternatives: Annotated[
        bool, msgspec.Meta(description="Also say what other ways of doing it would change.")
    ] = False

    def faults(self) -> list[Fault]:
        """Return the faults of planes: given twice, not at all, or with too many modules."""
        drawn = [plane.array for plane in self.planes if plane.array is not None]
        found = too_many_faults(drawn, ("planes",))
        for at, plane in enumerate(self.planes):
            path = ("planes", at)
            found += _plane_faults(plane, path)
            for number, area in enumerate(plane.arrays):
                found += _area_faults(area, (*path, "arrays", number))
        return found


def _plane_faults(plane: QuotePlaneForm, path: Path) -> list[Fault]:
    if plane.array is not None and plane.arrays:
        problem = "An array is drawn, and others are told by their measures."
        remedy = "Give the array, or the arrays, or two planes."
        return [Fault(path=(*path, "arrays"), problem=problem, remedy=remedy)]
    if plane.array is not None:
        return [*empty_faults(plane.array, (*path, "array")), *plane.detail_faults(path)]
    if not plane.arrays:
        remedy = "Give arrays by their measures, or the array as it is drawn."
        return [Fault(path=(*path, "arrays"), problem="This is missing.", remedy=remedy)]
    return [
        Fault(
            path=(*path, name),
            problem="This belongs to an array that is drawn.",
            remedy="Draw the array, or leave this out.",
        )
        for name in plane.details_given()
    ]


def _area_faults(area: AreaForm, path: Path) -> list[Fault]:
    given = [name for name in _MEASURES if getattr(area, name) is not None]
    if len(given) == 1:
        return []
    problem = f"{' and '.join(given)} are given." if given else "Nothing measures the array."
    remedy = "Give one of perimeter, grid and modules."
    return [Fault(path=path, problem=problem, remedy=remedy)]
