"""Turn a quote request into a complete job: drawn planes are laid out, every array has a name,
and values that are not given are assumed and recorded.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, get_args

import msgspec

from gapwright.calc.layout.strips import Readings, takes_usual
from gapwright.calc.outline import Facing
from gapwright.calc.quote.job import Area, Job
from gapwright.calc.suitability import attached_to
from gapwright.calls.array import ArraysInput, FacingInput, PlaneInput
from gapwright.calls.planes import Planes, lay_planes
from gapwright.calls.quote_request import (
    EstimateArrayInput,
    GridInput,
    ModuleCountInput,
    QuotePlaneInput,
    QuoteRequest,
)
from gapwright.calls.request import Path, readings_nm
from gapwright.errors import Fault, InvalidRequestError
from gapwright.facts import SITE_FLAGS, Clearance
from gapwright.quantity.whole import whole
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import Assumption, RuleSet
from gapwright.rulesets.vocabulary import LEAST_CREW

AssumedValue = int | Fraction

_DAY = Fraction(8 * 60)
"""Minutes of a working day if the rule set has no labor rates."""


class Assumptions:
    """Assumptions of a rule set; `instead` overrides their values.

    A value that the rule set does not assume is a fault at the member that the caller left out.
    """

    def __init__(self, rules: RuleSet, instead: Mapping[str, AssumedValue] | None = None) -> None:
        self.rules = rules
        self._instead = instead or {}
        self.used: dict[str, Assumption] = {}
        self.places: dict[str, list[Path]] = {}
        self.faults: list[Fault] = []

    def take(self, name: str, path: Path) -> Figure[Any]:
        """Return the value assumed for a member that the caller left out."""
        assumption = self.rules.assumptions.get(name)
        if assumption is None:
            problem = f"This required field is missing: {self.rules.name} has no assumption for it."
            remedy = "Add it, or use a rule set that has an assumption."
            self.faults.append(Fault(path=path, problem=problem, remedy=remedy))
            return Figure(1)
        self.used[name] = assumption
        self.places.setdefault(name, []).append(path)
        return self.value(name)

    def value(self, name: str) -> Figure[Any]:
        """Return the assumed value of a name, used or not."""
        if name in self._instead:
            return Figure(self._instead[name])
        return self.rules.figure(lambda: self.rules.assumptions[name].value)

    def given(self, value: object, name: str, path: Path) -> Figure[Any]:
        """Return a value that the caller gave, or the assumed one."""
        return self.take(name, path) if value is None else Figure(value)


class DrawnPlanes(Planes, frozen=True, kw_only=True):
    """The drawn planes of a job, laid out with their strips.

    `guessed` are the positions of those with a side without readings. If all sides of the job are
    open, the strip is sized by the assumed clearance as well.
    """

    guessed: tuple[int, ...]

    def guessing(self, nm: int, rules: RuleSet) -> DrawnPlanes:
        """Return the planes with another assumed clearance [nm]."""
        if not self.guessed:
            return self
        other = self.with_usual(Figure((nm,)), rules)
        return DrawnPlanes(planes=other.planes, strips=other.strips, guessed=self.guessed)

    def readings(self) -> Iterator[Readings]:
        """Yield the readings of single sides or facings [nm], without those of the whole job."""
        for strip in self.all_strips:
            yield from (readings.readings_nm for readings in strip.readings if readings.plane)


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """Choices of the job; an alternative differs from the request in one of them."""

    joining: str
    finish: str
    bending: str
    roll_nm: int | None
    wider: int = 0


def plane_names(request: QuoteRequest) -> tuple[str, ...]:
    """Return the name of each roof plane, all different."""
    return _distinct(plane.name or f"plane {at}" for at, plane in enumerate(request.planes, 1))


def area_names(request: QuoteRequest) -> dict[tuple[int, int], str]:
    """Return the name of each array that is not drawn, by the positions of its plane and itself.

    A plane that is drawn keeps its name, and no other array takes it.
    """
    planes = plane_names(request)
    drawn = [planes[at] for at, plane in enumerate(request.planes) if plane.array is not None]
    named = {
        (at, number): f"{planes[at]} {_own_name(plane, number)}".strip()
        for at, plane in enumerate(request.planes)
        for number in range(len(plane.arrays))
    }
    distinct = _distinct([*drawn, *named.values()])[len(drawn) :]
    return dict(zip(named, distinct, strict=True))


def _own_name(plane: QuotePlaneInput, number: int) -> str:
    alone = len(plane.arrays) == 1
    return plane.arrays[number].name or ("" if alone else f"array {number + 1}")


def _distinct(names: Iterable[str]) -> tuple[str, ...]:
    """Return the names, with a number after each that occurred before."""
    assumed: dict[str, None] = {}
    for name in names:
        number, distinct = 2, name
        while distinct in assumed:
            distinct = f"{name} ({number})"
            number += 1
        assumed[distinct] = None
    return tuple(assumed)


def draw(request: QuoteRequest, rules: RuleSet, faults: list[Fault]) -> DrawnPlanes | None:
    """Return the drawn planes, laid out, or None if there are none. Faults are added.

    A side without readings takes the clearance of its plane, else that of the job, else the one
    that the rule set assumes.
    """
    names = plane_names(request)
    drawn = {
        at: _with_clearance(plane.plane(plane.array, names[at]), plane.clearance)
        for at, plane in enumerate(request.planes)
        if plane.array is not None
    }
    if not drawn:
        return None
    positions = tuple(drawn)
    arrays = ArraysInput(planes=tuple(drawn.values()))
    try:
        usual_nm, system = _usual_nm(request, rules), request.units or rules.units
        attachment = attached_to(request.roof_covering, request.racking, rules)
        laid = lay_planes(arrays, usual_nm, rules, system, attachment)
    except InvalidRequestError as error:
        faults += [_in_request(fault, positions) for fault in error.faults]
        return None
    guessed: tuple[int, ...] = ()
    if not request.clearance and not any(side.strip for one in laid.planes for side in one.sides):
        guessed = positions
    elif not request.clearance:
        both = zip(positions, laid.planes, strict=True)
        guessed = tuple(at for at, one in both if takes_usual(one.plane, one.outline))
    return DrawnPlanes(planes=laid.planes, strips=laid.strips, guessed=guessed)


def _usual_nm(request: QuoteRequest, rules: RuleSet) -> Figure[Readings]:
    """Return the readings of the whole job [nm], or the assumed clearance if there are none.

    If the rule set assumes none, the request is refused later, so any clearance will do here.
    """
    if request.clearance:
        return Figure(readings_nm(request.clearance))
    assumption = rules.assumptions.get(f"clearance_{request.racking}")
    if assumption is None:
        return rules.figure(lambda: (rules.values.default_clearance,))
    return rules.figure(lambda: (int(assumption.value),))


def _with_clearance(plane: PlaneInput, clearance: Clearance | None) -> PlaneInput:
    """Return a plane whose own clearance, if any, applies to facings that have none."""
    if clearance is None:
        return plane
    given = {one.facing: one for one in plane.facings}
    every = (given.get(facing, FacingInput(facing=facing)) for facing in get_args(Facing))
    facings = tuple(
        one if one.clearance else msgspec.structs.replace(one, clearance=clearance) for one in every
    )
    return msgspec.structs.replace(plane, facings=facings)


def _in_request(fault: Fault, positions: tuple[int, ...]) -> Fault:
    """Return a fault of the drawn planes with the position that its plane has in the request."""
    path = fault.path
    if path[:1] == ("planes",) and len(path) > 1:
        path = ("planes", positions[int(path[1])], *path[2:])
    return msgspec.structs.replace(fault, path=path)


def choices_of(request: QuoteRequest) -> Choices:
    """Return how a request asks for the work to be done."""
    return Choices(
        joining=request.joining,
        finish=request.finish,
        bending=request.bending,
        roll_nm=int(request.roll_length) if request.roll_length is not None else None,
    )


def job_of(
    request: QuoteRequest, drawn: DrawnPlanes | None, choices: Choices, assumed: Assumptions
) -> Job:
    """Return the job of a request; `drawn` has the planes that were laid out, if there are any."""
    areas: list[Area] = []
    names = area_names(request)
    for at, plane in enumerate(request.planes):
        if at in drawn.guessed if drawn else _unmeasured(request, plane):
            _assume_clearance(request, ("planes", at), assumed)
        for number, area in enumerate(plane.arrays):
            path: Path = ("planes", at, "arrays", number)
            readings = _readings(request, area.clearance or plane.clearance, path, assumed)
            areas.append(_area(area, names[at, number], readings, path, assumed))
    facts = _facts(request, choices, assumed)
    crew, working_day = _crew_and_day(request, assumed)
    return Job(
        areas=tuple(areas),
        laid=drawn.planes if drawn else (),
        planes=len(request.planes),
        facts=facts,
        roll_nm=choices.roll_nm,
        crew=crew,
        working_day=working_day,
        wider=choices.wider,
        drawn=drawn.strips if drawn else None,
    )


def assumed_clearance(request: QuoteRequest, assumed: Assumptions) -> Figure[int] | None:
    """Return the clearance assumed for arrays without readings [nm], if there are any."""
    name = f"clearance_{request.racking}"
    return assumed.value(name) if name in assumed.used else None


def _assume_clearance(request: QuoteRequest, path: Path, assumed: Assumptions) -> Figure[int]:
    return assumed.take(f"clearance_{request.racking}", (*path, "clearance"))


def _unmeasured(request: QuoteRequest, plane: QuotePlaneInput) -> bool:
    """Return whether a plane whose drawing cannot be used has no readings anywhere."""
    by_side = (one.clearance for _, one in plane.by_side())
    return plane.array is not None and not any((*by_side, plane.clearance, request.clearance))


def _crew_and_day(
    request: QuoteRequest, assumed: Assumptions
) -> tuple[Figure[int], Figure[Fraction]]:
    """Return crew and working day [min], assumed only if the rule set has labor rates."""
    day = request.working_day
    if not assumed.rules.work:
        return Figure(request.crew or LEAST_CREW), Figure(_DAY if day is None else day)
    return (
        assumed.given(request.crew, "crew", ("crew",)),
        assumed.given(day, "working_day", ("working_day",)),
    )


def _facts(request: QuoteRequest, choices: Choices, assumed: Assumptions) -> dict[str, Any]:
    """Return the facts that decide on bill lines, tasks, labor factors and cautions."""
    facts: dict[str, Any] = {
        "roof_covering": request.roof_covering,
        "racking": request.racking,
        "attachment": attached_to(request.roof_covering, request.racking, assumed.rules),
        "joining": choices.joining,
        "finish": choices.finish,
        "bending": choices.bending,
        **{flag: bool(getattr(request.site, flag)) for flag in SITE_FLAGS},
    }
    if request.stories is not None or assumed.rules.work:
        stories = assumed.given(request.stories, "stories", ("stories",))
        facts["stories"] = assumed.rules.figure(
            lambda: {1: "one", 2: "two"}.get(stories.value, "more")
        )
    if request.pitch is not None:
        facts["pitch"] = request.pitch
    return facts


def _readings(
    request: QuoteRequest, own: Clearance | None, path: Path, assumed: Assumptions
) -> Figure[tuple[int, ...]]:
    """Return the readings of an array [nm]: its own, its plane's, or the job's."""
    given = own or request.clearance
    if given is not None:
        return Figure(readings_nm(given))
    clearance = _assume_clearance(request, path, assumed)
    return assumed.rules.figure(lambda: (clearance.value,))


def _area(
    area: EstimateArrayInput,
    name: str,
    readings: Figure[tuple[int, ...]],
    path: Path,
    assumed: Assumptions,
) -> Area:
    modules = area.grid or area.modules
    corners: Figure[int] | None = None
    if modules is None:
        perimeter = Figure(int(area.perimeter or 0))
    else:
        perimeter, corners = _perimeter_of_modules(modules, path, assumed)
    return Area(
        name=name,
        perimeter_nm=perimeter,
        corners=corners if area.corners is None else Figure(area.corners),
        penetrations=area.penetrations,
        readings_nm=readings,
    )


def _perimeter_of_modules(
    modules: GridInput | ModuleCountInput, path: Path, assumed: Assumptions
) -> tuple[Figure[int], Figure[int]]:
    """Return the perimeter [nm] and the corners of modules in rows.

    A partial last row keeps the perimeter and adds two corners.
    """
    if isinstance(modules, GridInput):
        count, path = modules.rows * modules.columns, (*path, "grid")
    else:
        count, path = modules.count, (*path, "modules")
    wanted = assumed.given(modules.rows, "rows", (*path, "rows"))
    long = assumed.given(modules.long_side, "module_long", (*path, "long_side"))
    short = assumed.given(modules.short_side, "module_short", (*path, "short_side"))
    gap = assumed.given(modules.gap, "module_gap", (*path, "gap"))

    def rows_and_columns() -> tuple[int, int]:
        rows = min(wanted.value, count)
        return rows, whole(count, rows)

    def perimeter() -> int:
        rows, columns = size.value
        sides = (short, long) if modules.orientation == "portrait" else (long, short)
        width, height = (side.value for side in sides)
        across = columns * width + (columns - 1) * gap.value
        return int(2 * (across + rows * height + (rows - 1) * gap.value))

    def corners() -> int:
        rows, columns = size.value
        return 4 if count == rows * columns else 6

    size = assumed.rules.figure(rows_and_columns)
    return assumed.rules.figure(perimeter), assumed.rules.figure(corners)
