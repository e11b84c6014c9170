"""From the wire form of a quote request to the job that is reckoned: nothing is left open."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import msgspec

from service.calc.quote import Area, Job
from service.calls.assuming import Assumed, Path
from service.calls.drawn import Drawn
from service.calls.job_names import area_names
from service.calls.quote_forms import AreaForm, CountForm, GridForm, QuoteForm, QuotePlaneForm
from service.facts import SITE_FLAGS
from service.quantity.whole import whole
from service.rulesets.figures import Figure
from service.rulesets.vocabulary import LEAST_CREW

_DAY = Fraction(8 * 60)
"""Minutes of a working day where the rule set has no labour that would ask for it."""


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """How the work is done; an alternative differs from the request in one of them."""

    joining: str
    painted: str
    bending: str
    roll_nm: int | None
    wider: int = 0


def choices_of(form: QuoteForm) -> Choices:
    """Return how a request asks for the work to be done."""
    return Choices(
        joining=form.joining,
        painted=form.painted,
        bending=form.bending,
        roll_nm=int(form.roll_length) if form.roll_length is not None else None,
    )


def job_of(form: QuoteForm, drawn: Drawn | None, choices: Choices, assumed: Assumed) -> Job:
    """Return the job of a request; `drawn` has the planes that were laid out, if there are any."""
    areas: list[Area] = []
    names = area_names(form)
    for at, plane in enumerate(form.planes):
        if at in drawn.guessed if drawn else _unmeasured(form, plane):
            take_clearance(form, ("planes", at), assumed)
        for number, area in enumerate(plane.arrays):
            path: Path = ("planes", at, "arrays", number)
            readings = _readings(form, plane, area, path, assumed)
            areas.append(_area(area, names[at, number], readings, path, assumed))
    facts = facts_of(form, choices, assumed)
    crew, working_day = _crew_and_day(form, assumed)
    return Job(
        areas=tuple(areas),
        laid=drawn.areas if drawn else (),
        planes=len(form.planes),
        facts=facts,
        roll_nm=choices.roll_nm,
        crew=crew,
        working_day=working_day,
        wider=choices.wider,
        drawn=drawn.strips if drawn else None,
    )


def assumed_clearance(form: QuoteForm, assumed: Assumed) -> Figure[int] | None:
    """Return the clearance assumed for arrays that nobody has measured [nm], if there are any."""
    name = f"clearance_{form.racking}"
    return assumed.value(name) if name in assumed.used else None


def _crew_and_day(form: QuoteForm, assumed: Assumed) -> tuple[Figure[int], Figure[Fraction]]:
    """Return crew and working day [min], assumed where the rule set has rates of labour at all."""
    day = form.working_day
    if not assumed.rules.work:
        return Figure(form.crew or LEAST_CREW), Figure(_DAY if day is None else day)
    return (
        assumed.given(form.crew, "crew", ("crew",)),
        assumed.given(day, "working_day", ("working_day",)),
    )


def facts_of(form: QuoteForm, choices: Choices, assumed: Assumed) -> dict[str, Any]:
    """Return the facts that decide on bill lines, tasks, surcharges and cautions."""
    facts: dict[str, Any] = {
        "covering": form.covering,
        "racking": form.racking,
        "joining": choices.joining,
        "painted": choices.painted,
        "bending": choices.bending,
        **{flag: bool(getattr(form.site, flag)) for flag in SITE_FLAGS},
    }
    if form.storeys is not None or assumed.rules.work:
        storeys = assumed.given(form.storeys, "storeys", ("storeys",))
        facts["storeys"] = assumed.rules.figure(
            lambda: {1: "one", 2: "two"}.get(storeys.value, "more")
        )
    if form.pitch is not None:
        facts["pitch"] = form.pitch
    return facts


def _readings(
    form: QuoteForm, plane: QuotePlaneForm, area: AreaForm, path: Path, assumed: Assumed
) -> Figure[tuple[int, ...]]:
    """Return the readings that hold for an array: its own, its plane's, or the job's."""
    given = area.clearance or plane.clearance or form.clearance
    if given is not None:
        return Figure(tuple(map(int, given.readings)))
    clearance = take_clearance(form, path, assumed)
    return assumed.rules.figure(lambda: (clearance.value,))


def _unmeasured(form: QuoteForm, plane: QuotePlaneForm) -> bool:
    """Return whether a plane whose drawing cannot be used has no readings anywhere."""
    own = [*(edge.clearance for edge in plane.edges), *(one.clearance for one in plane.facings)]
    return plane.array is not None and not any((*own, plane.clearance, form.clearance))


def take_clearance(form: QuoteForm, path: Path, assumed: Assumed) -> Figure[int]:
    """Return the clearance that is assumed for what nobody has measured [nm]."""
    return assumed.take(f"clearance_{form.racking}", (*path, "clearance"))


def _area(
    area: AreaForm, name: str, readings: Figure[tuple[int, ...]], path: Path, assumed: Assumed
) -> Area:
    perimeter, corners = _outline(area, path, assumed)
    return Area(
        name=name,
        perimeter_nm=perimeter,
        corners=corners if area.corners is None else Figure(area.corners),
        penetrations=area.penetrations,
        readings_nm=readings,
    )


def _outline(
    area: AreaForm, path: Path, assumed: Assumed
) -> tuple[Figure[int], Figure[int] | None]:
    """Return the perimeter of an array [nm], and its corners where its form tells them."""
    if area.grid is not None:
        grid = area.grid
        size = Figure((grid.rows, grid.columns))
        return _perimeter(grid, size, (*path, "grid"), assumed), Figure(4)
    if area.modules is not None:
        modules = area.modules
        place = (*path, "modules")
        given = assumed.given(modules.rows, "rows", (*place, "rows"))

        def rows_and_columns() -> tuple[int, int]:
            rows = min(given.value, modules.count)
            return rows, whole(modules.count, rows)

        size = assumed.rules.figure(rows_and_columns)

        def corners() -> int:
            rows, columns = size.value
            ragged = modules.count % columns != 0 or modules.count < rows * columns
            return 6 if ragged else 4

        return _perimeter(modules, size, place, assumed), assumed.rules.figure(corners)
    return Figure(int(area.perimeter or 0)), None


def _perimeter(
    form: GridForm | CountForm, size: Figure[tuple[int, int]], path: Path, assumed: Assumed
) -> Figure[int]:
    """Return the perimeter of a grid; a last row that is not full has the same one [nm]."""
    long = assumed.given(form.long_side, "module_long", (*path, "long_side"))
    short = assumed.given(form.short_side, "module_short", (*path, "short_side"))
    gap = assumed.given(form.gap, "module_gap", (*path, "gap"))
    portrait = form.orientation == "portrait"

    def perimeter() -> int:
        rows, columns = size.value
        width, height = (short, long) if portrait else (long, short)
        across = columns * width.value + (columns - 1) * gap.value
        return int(2 * (across + rows * height.value + (rows - 1) * gap.value))

    return assumed.rules.figure(perimeter)
