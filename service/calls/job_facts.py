"""From the wire form of a quote request to the job that is reckoned: nothing is left open."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import msgspec

from service.calc.quote import Area, Job
from service.calc.suitability import Guess
from service.calls.assuming import Assumed, Path
from service.calls.drawn import Drawn
from service.calls.job_names import area_names
from service.calls.quote_forms import AreaForm, CountForm, GridForm, QuoteForm, QuotePlaneForm
from service.facts import SITE_FLAGS
from service.quantity.whole import whole
from service.rulesets.quoting import LEAST_CREW

_DRIVES = {
    **dict.fromkeys(("module_long", "module_short", "module_gap"), ("perimeter", "mesh_length")),
    "rows": ("perimeter", "mesh_length", "corners"),
    "storeys": ("storeys",),
    "crew": ("crew",),
    "working_day": ("working_day",),
}
"""What follows from each assumption but the clearance, as drivers and facts are called."""

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
        if at in drawn.guessed if drawn else _untold(form, plane):
            take_clearance(form, ("planes", at), assumed)
        for number, area in enumerate(plane.arrays):
            path: Path = ("planes", at, "arrays", number)
            readings = _readings(form, plane, area, path, assumed)
            areas.append(_area(area, names[at, number], readings, path, assumed))
    facts = facts_of(form, choices, assumed)
    asked = _asked_of_work(form, assumed)
    return Job(
        areas=tuple(areas),
        laid=drawn.areas if drawn else (),
        planes=len(form.planes),
        facts=facts,
        roll_nm=choices.roll_nm,
        crew=asked["crew"],
        working_day=Fraction(asked["working_day"]),
        wider=choices.wider,
        assumed=_assumed(areas, assumed),
        guess=guess_of(form, assumed),
        drawn=drawn.strips if drawn else None,
        drawn_guess=bool(drawn and drawn.guessed),
    )


def guess_of(form: QuoteForm, assumed: Assumed) -> Guess | None:
    """Return the clearance that was taken for arrays that nobody has measured, if there are any."""
    name = f"clearance_{form.racking}"
    if name not in assumed.used:
        return None
    return Guess(nm=int(assumed.value(name)), rule=f"assumptions.{name}")


def _assumed(areas: list[Area], assumed: Assumed) -> tuple[tuple[str, str], ...]:
    """Return what was not told, as drivers with a rule that each follows from."""
    usual = any(area.corners is None for area in areas)
    return (
        *((("corners", "values.usual_corners"),) if usual else ()),
        *(
            (driver, f"assumptions.{name}")
            for name, drivers in _DRIVES.items()
            if name in assumed.used
            for driver in drivers
        ),
    )


def _asked_of_work(form: QuoteForm, assumed: Assumed) -> dict[str, Any]:
    """Return crew and working day where the rule set can reckon labour at all."""
    if not assumed.rules.work:
        day = form.working_day.minutes if form.working_day is not None else _DAY
        return {"crew": form.crew or LEAST_CREW, "working_day": day}
    return {
        "crew": form.crew if form.crew is not None else assumed.whole("crew", ("crew",)),
        "working_day": (
            form.working_day.minutes
            if form.working_day is not None
            else assumed.take("working_day", ("working_day",))
        ),
    }


def facts_of(form: QuoteForm, choices: Choices, assumed: Assumed) -> dict[str, Any]:
    """Return the facts that decide on bill lines, tasks, surcharges and cautions."""
    storeys = form.storeys
    if storeys is None and assumed.rules.work:
        storeys = assumed.whole("storeys", ("storeys",))
    facts: dict[str, Any] = {
        "covering": form.covering,
        "racking": form.racking,
        "joining": choices.joining,
        "painted": choices.painted,
        "bending": choices.bending,
        **{flag: bool(getattr(form.site, flag)) for flag in SITE_FLAGS},
    }
    if storeys is not None:
        facts["storeys"] = {1: "one", 2: "two"}.get(storeys, "more")
    if form.pitch is not None:
        facts["pitch"] = form.pitch
    return facts


def _readings(
    form: QuoteForm,
    plane: QuotePlaneForm,
    area: AreaForm,
    path: Path,
    assumed: Assumed,
) -> tuple[int, ...]:
    """Return the readings that hold for an array: its own, its plane's, or the job's."""
    told = area.clearance or plane.clearance or form.clearance
    if told is not None:
        return tuple(int(reading) for reading in told.readings)
    return (take_clearance(form, path, assumed),)


def _untold(form: QuoteForm, plane: QuotePlaneForm) -> bool:
    """Return whether a plane whose drawing cannot be used has no readings anywhere."""
    own = [*(edge.clearance for edge in plane.edges), *(one.clearance for one in plane.facings)]
    return plane.array is not None and not any((*own, plane.clearance, form.clearance))


def take_clearance(form: QuoteForm, path: Path, assumed: Assumed) -> int:
    """Return the clearance that is assumed for what nobody has measured [nm]."""
    return assumed.whole(f"clearance_{form.racking}", (*path, "clearance"))


def _area(
    area: AreaForm, name: str, readings: tuple[int, ...], path: Path, assumed: Assumed
) -> Area:
    perimeter, corners = _outline(area, path, assumed)
    return Area(
        name=name,
        perimeter_nm=perimeter,
        corners=corners if area.corners is None else area.corners,
        penetrations=area.penetrations,
        readings_nm=readings,
    )


def _outline(area: AreaForm, path: Path, assumed: Assumed) -> tuple[int, int | None]:
    """Return the perimeter of an array [nm], and its corners where its form tells them."""
    if area.grid is not None:
        grid = area.grid
        return _round(grid, grid.rows, grid.columns, (*path, "grid"), assumed), 4
    if area.modules is not None:
        told = area.modules
        place = (*path, "modules")
        rows = told.rows if told.rows is not None else assumed.whole("rows", (*place, "rows"))
        rows = min(rows, told.count)
        columns = whole(told.count, rows)
        ragged = told.count % columns != 0 or told.count < rows * columns
        return _round(told, rows, columns, place, assumed), 6 if ragged else 4
    return int(area.perimeter or 0), None


def _round(
    form: GridForm | CountForm, rows: int, columns: int, path: Path, assumed: Assumed
) -> int:
    """Return the perimeter of a grid; a last row that is not full has the same one [nm]."""
    long = _side(form.long_side, "module_long", (*path, "long_side"), assumed)
    short = _side(form.short_side, "module_short", (*path, "short_side"), assumed)
    gap = _side(form.gap, "module_gap", (*path, "gap"), assumed)
    width, height = (short, long) if form.orientation == "portrait" else (long, short)
    across = columns * width + (columns - 1) * gap
    return 2 * (across + rows * height + (rows - 1) * gap)


def _side(told: object, name: str, path: Path, assumed: Assumed) -> int:
    return assumed.whole(name, path) if told is None else int(told)  # type: ignore[call-overload]
