"""Which strip goes where: one all around if its channel suits every reading, else by side.

Readings may be given by side or by facing; those of the whole job apply elsewhere. The sizing
rule applies: the width follows the largest reading, the web the smallest one
that counts, each place judged by itself. A channel is bent the same over its whole length, so where
no one strip is snug everywhere, the sides that share a strip form a stretch, and no piece runs from
one to the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from gapwright.calc.layout.plane import Plane, SideFacts
from gapwright.calc.outline import Outline, Side
from gapwright.calc.sizing import Sizing, size
from gapwright.rulesets.figures import Figure
from gapwright.rulesets.ruleset import RuleSet

Readings = tuple[int, ...]
PlaneAndPlace = tuple[str, str]
"""The name of a plane, and the side or facing that has readings there."""

ALL = "all"
"""The place of readings that were given for the whole job."""


class SideReadings(msgspec.Struct, frozen=True, kw_only=True):
    """Readings [nm] and where they were given: a side, a facing, or "all" for the whole job."""

    plane: str
    place: str
    readings_nm: Readings


class Strip(msgspec.Struct, frozen=True, kw_only=True):
    """One strip with its channel, and the readings that it was sized for."""

    name: str
    sizing: Sizing
    readings: tuple[SideReadings, ...]


class Strips(msgspec.Struct, frozen=True, kw_only=True):
    """The strips of a job, and which of them goes where; the first is the usual one.

    `by_place` follows from the sizing of the readings where some sides have their own.
    """

    strips: tuple[Strip, ...]
    by_place: Figure[dict[PlaneAndPlace, int]]

    def at(self, side: Side, plane: Plane) -> Strip:
        """Return the strip of a side that is not left open."""
        readings = _readings_of(side, plane, Figure(()))
        return self.strips[self.by_place.value[readings.plane, readings.place]]


def strips_of(
    usual_nm: Figure[Readings], planes: Sequence[tuple[Plane, Outline]], rules: RuleSet
) -> Strips:
    """Return the strips of a job, as few as are snug by its readings.

    `usual_nm` are the readings of the whole job [nm]; they count only where some side has no
    others. One strip for all is tried first, then one for all sides whose own readings take the
    same width, then one for each. Planes are distinguished by their names.
    """

    def groups() -> list[list[SideReadings]]:
        places = {
            (readings.plane, readings.place): readings
            for plane, outline in planes
            for readings in _all_readings(plane, outline, usual_nm)
        }
        readings = list(places.values()) or [
            SideReadings(plane="", place=ALL, readings_nm=usual_nm.value)
        ]
        return _grouped(sorted(readings, key=lambda one: one.place != ALL), rules)

    grouped = rules.figure(groups)
    return Strips(
        strips=tuple(
            Strip(
                name=f"S{number}", sizing=_sized(grouped, number - 1, rules), readings=tuple(group)
            )
            for number, group in enumerate(grouped.value, 1)
        ),
        by_place=rules.figure(
            lambda: {
                (one.plane, one.place): at
                for at, group in enumerate(grouped.value)
                for one in group
            }
        ),
    )


def _all_readings(
    plane: Plane, outline: Outline, usual_nm: Figure[Readings]
) -> Iterator[SideReadings]:
    """Yield the readings of each side of a plane, unless it is left open."""
    for side in outline.sides:
        if not is_open(side, plane):
            yield _readings_of(side, plane, usual_nm)


def is_open(side: Side, plane: Plane) -> bool:
    """Return whether a side is left open."""
    own = plane.sides.get(side.name, SideFacts()).open
    return bool(plane.facings.get(side.facing, SideFacts()).open if own is None else own)


def takes_usual(plane: Plane, outline: Outline) -> bool:
    """Return whether the readings of the whole job apply to some side of a plane."""
    return any(readings.place == ALL for readings in _all_readings(plane, outline, Figure(())))


def _readings_of(side: Side, plane: Plane, usual_nm: Figure[Readings]) -> SideReadings:
    """Return the readings of a side."""
    own, facing = plane.sides.get(side.name), plane.facings.get(side.facing)
    if own and own.readings_nm:
        return SideReadings(plane=plane.name, place=side.name, readings_nm=own.readings_nm)
    if facing and facing.readings_nm:
        return SideReadings(plane=plane.name, place=side.facing, readings_nm=facing.readings_nm)
    return SideReadings(plane="", place=ALL, readings_nm=usual_nm.value)


def _grouped(readings: list[SideReadings], rules: RuleSet) -> list[list[SideReadings]]:
    """Return the readings in groups that share a strip, in the order given."""
    if _snug(readings, rules):
        return [readings]
    groups: list[list[SideReadings]] = []
    for alike in _alike(readings, [_size([one], rules).strip_nm.value for one in readings]):
        if _snug(alike, rules):
            groups.append(alike)
        else:
            groups += _alike(alike, [one.readings_nm for one in alike])
    return groups


def _alike(readings: Sequence[SideReadings], keys: Sequence[object]) -> list[list[SideReadings]]:
    groups: dict[object, list[SideReadings]] = {}
    for one, key in zip(readings, keys, strict=True):
        groups.setdefault(key, []).append(one)
    return list(groups.values())


def _snug(readings: Sequence[SideReadings], rules: RuleSet) -> bool:
    """Return whether one strip does for some readings: it is snug, or there is no choice."""
    return len({one.readings_nm for one in readings}) == 1 or _size(readings, rules).snug.value


def _size(readings: Sequence[SideReadings], rules: RuleSet) -> Sizing:
    return size(Figure(_places(readings)), rules)


def _sized(grouped: Figure[list[list[SideReadings]]], at: int, rules: RuleSet) -> Sizing:
    return size(rules.figure(lambda: _places(grouped.value[at])), rules)


def _places(readings: Sequence[SideReadings]) -> tuple[Readings, ...]:
    return tuple(dict.fromkeys(one.readings_nm for one in readings))
