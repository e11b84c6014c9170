"""Which strip each array of a job takes: arrays with the same readings are sized together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.channel import bend
from service.calc.layout import strips as layout
from service.calc.quote.job import Area, Job, LaidArea
from service.calc.sizing import Sizing, size
from service.rulesets.values import Values


class Strip(msgspec.Struct, frozen=True, kw_only=True):
    """The arrays that are sized alike, by name, and the strip and channel that they take."""

    names: tuple[str, ...]
    readings_nm: tuple[int, ...]
    sizing: Sizing
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
    """Return the strips of a job, in the order in which its arrays first take them."""
    names: dict[tuple[int, ...], list[str]] = {}
    guessed: dict[tuple[int, ...], str] = {}
    if job.guess:
        guessed[(job.guess.nm,)] = job.guess.rule
    for area in _areas(job):
        names.setdefault(area.readings_nm, []).append(area.name)
    return tuple(
        Strip(
            names=tuple(named),
            readings_nm=readings,
            sizing=_sized(readings, job.wider, values, mark_nm),
            guess=guessed.get(readings),
        )
        for readings, named in names.items()
    )


def width_of(area: Area | LaidArea, strips: Sequence[Strip]) -> int | None:
    """Return the width of the strip that an array takes."""
    return next(s.width_nm for s in strips if s.readings_nm == area.readings_nm)


def drawn_strips(job: Job, strips: Sequence[Strip]) -> tuple[layout.Strip, ...]:
    """Return the strips of the planes that are drawn, as a layout tells of them."""
    drawn = {area.readings_nm for area in job.laid}
    found = [strip for strip in strips if strip.readings_nm in drawn]
    return tuple(
        layout.Strip(
            name=f"S{number}",
            sizing=strip.sizing,
            told=(layout.Told(plane="", place=layout.ALL, readings_nm=strip.readings_nm),),
        )
        for number, strip in enumerate(found, 1)
    )


def _areas(job: Job) -> Iterator[Area | LaidArea]:
    yield from job.areas
    yield from job.laid


def _sized(readings: tuple[int, ...], wider: int, values: Values, mark_nm: int) -> Sizing:
    """Return the sizing of readings, with a wider strip where one is asked for."""
    found = size(readings, values, mark_nm)
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
