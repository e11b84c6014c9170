"""Which strip each array of a job takes: arrays with the same readings are sized together.

Planes that are drawn have the strips by which they were laid out, told by edge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.channel import bend
from service.calc.layout import strips as layout
from service.calc.quote.job import Area, Job
from service.calc.sizing import Sizing, size
from service.rulesets.values import Values


class Strip(msgspec.Struct, frozen=True, kw_only=True):
    """A strip and its channel, and the arrays that take it, by name.

    `readings_nm` are those of its arrays, empty where drawn planes told several; `drawn` is the
    same strip as the layout tells of it, None where no drawn plane takes it.
    """

    names: tuple[str, ...]
    readings_nm: tuple[int, ...]
    sizing: Sizing
    drawn: layout.Strip | None = None
    guess: str | None = None
    """The rule that says what was taken for readings that nobody has told."""

    @property
    def fitted(self) -> bool:
        """Return whether a stocked strip is wide enough, and a channel can be bent from it."""
        return self.sizing.strip_nm is not None and self.sizing.channel is not None

    @property
    def snug(self) -> bool:
        """Return whether the channel springs to the clearance, so that nothing is to be changed."""
        return self.sizing.channel is not None and self.sizing.channel.snug

    @property
    def width_nm(self) -> int | None:
        """Return the width of the strip, None where no stocked one is wide enough."""
        return self.sizing.strip_nm


def strips_of(job: Job, values: Values, mark_nm: int) -> tuple[Strip, ...]:
    """Return the strips of a job, in the order in which its arrays first take them.

    A drawn plane shares the strip of arrays that are not drawn where all its readings are theirs.
    """
    found: dict[object, Strip] = {}
    for area in job.areas:
        same = found.get(area.readings_nm) or _estimated(area, job, values, mark_nm)
        found[area.readings_nm] = msgspec.structs.replace(same, names=(*same.names, area.name))
    for strip in job.drawn.strips if job.drawn else ():
        one = _drawn(strip, job, values, mark_nm)
        same = found.get(one.readings_nm, one)
        names = tuple(dict.fromkeys((*same.names, *one.names)))
        key = one.readings_nm or strip.name
        found[key] = msgspec.structs.replace(one, names=names, guess=same.guess or one.guess)
    return tuple(found.values())


def width_of(area: Area, strips: Sequence[Strip]) -> int | None:
    """Return the width of the strip that an array takes."""
    return next(s.width_nm for s in strips if s.readings_nm == area.readings_nm)


def drawn_strips(job: Job, strips: Sequence[Strip]) -> tuple[layout.Strip, ...]:
    """Return the strips of the planes that are drawn, as a layout tells of them."""
    known = {strip.drawn.name: strip.drawn for strip in strips if strip.drawn}
    return tuple(known[strip.name] for strip in (job.drawn.strips if job.drawn else ()))


def _estimated(area: Area, job: Job, values: Values, mark_nm: int) -> Strip:
    """Return the strip of an array that is not drawn, before it has a name."""
    guessed = job.guess is not None and area.readings_nm == (job.guess.nm,)
    return Strip(
        names=(),
        readings_nm=area.readings_nm,
        sizing=_wider(size(area.readings_nm, values, mark_nm), job.wider, values, mark_nm),
        guess=job.guess.rule if job.guess and guessed else None,
    )


def _drawn(strip: layout.Strip, job: Job, values: Values, mark_nm: int) -> Strip:
    """Return the strip of drawn planes; where one reading was guessed, it grouped all of them."""
    sizing = _wider(strip.sizing, job.wider, values, mark_nm)
    readings = tuple(dict.fromkeys(told.readings_nm for told in strip.told))
    return Strip(
        names=tuple(_takers(strip.name, job)),
        readings_nm=readings[0] if len(readings) == 1 else (),
        sizing=sizing,
        drawn=msgspec.structs.replace(strip, sizing=sizing),
        guess=job.guess.rule if job.guess and job.drawn_guess else None,
    )


def _takers(strip: str, job: Job) -> Iterator[str]:
    """Yield the planes with edges that take a strip; where all edges are open, all planes."""
    every = not any(edge.strip for area in job.laid for edge in area.plane.edges)
    for area in job.laid:
        if every or any(edge.strip == strip for edge in area.plane.edges):
            yield area.name


def _wider(found: Sizing, wider: int, values: Values, mark_nm: int) -> Sizing:
    """Return a sizing with a strip so many stocked widths wider."""
    if not wider or found.strip_nm is None:
        return found
    at = values.stocked_widths.index(found.strip_nm) + wider
    if at >= len(values.stocked_widths):
        return msgspec.structs.replace(found, strip_nm=None, channel=None)
    strip = values.stocked_widths[at]
    clearance = found.clearance
    channel = bend(strip, clearance.tightest_nm, clearance.governing_nm, values, mark_nm)
    common = strip in values.common_widths
    return msgspec.structs.replace(found, strip_nm=strip, channel=channel, common=common)
