"""Seeded random runs of channel with their rules, in small whole units.

Two kinds: runs of any shape, where every rule is drawn at random and often cannot be kept, and
runs like those round a roof, with corners, tabs on two sides and returns on the other two. A
return never costs less than a custom cut, so that none is worth making for its mesh alone.
"""

from __future__ import annotations

import random
from itertools import pairwise
from typing import Any

import msgspec
from gapwright.calc.pieces import KeepOff, PieceRules, Reach, Run, RunZone


def random_case(seed: int, longest_side: int = 48) -> tuple[Run, PieceRules]:
    """Return one run with its rules; the same for the same seed."""
    rng = random.Random(seed)
    return any_run(rng) if seed % 2 else roof_run(rng, longest_side)


def tiny_case(seed: int) -> tuple[Run, PieceRules]:
    """Return a run so short that every layout of it can be tried."""
    rng = random.Random(seed)
    return any_run(rng, most_marks=8)


def any_run(rng: random.Random, most_marks: int = 30) -> tuple[Run, PieceRules]:
    """Return a short run of any shape; lengths and places are often off the increment."""
    grid = rng.choice([1, 2, 3])
    length = max(grid * rng.randint(3, most_marks) + rng.choice([0, 0, -1, 1]), 4)
    closed = rng.random() < 0.65
    zones = random_zones(rng, length, rng.choice([0, 0, 1, 2, 3]), (1, 2 * grid), (2, 14), grid)
    tabs = sorted(rng.sample(range(length), k=rng.choice([0, 0, 1, 2, 3])))
    reaches = [random_reach(rng, length, closed, 3 * grid) for _ in range(rng.choice([0, 1, 2, 3]))]
    points = [rng.randrange(length) for _ in range(rng.choice([0, 0, 1, 2, 3]))]
    points += [tab for tab in tabs if rng.random() < 0.5]
    starts = list(tabs)
    if closed and not tabs:
        starts = rng.sample(range(length), k=rng.choice([0, 1, 2]))
        points += starts
    rng.shuffle(starts)
    longest = max(-(-zone.overlap_nm // grid) * grid for zone in zones)
    custom = rng.choice([0, 1, 4])
    rules = PieceRules(
        piece_nm=longest + grid * rng.randint(3, 14),
        grid_nm=grid,
        min_piece_length_nm=rng.choice([0, 0, grid, 3 * grid]),
        most_overlap_nm=rng.choice([0, 0, longest + 1, longest + 2 * grid]),
        cut_weight_nm=custom,
        return_weight_nm=max(custom - 1, 0) + rng.choice([0, 3]),
    )
    keep_off = [KeepOff(at_nm=at, distance_nm=rng.randint(0, grid)) for at in points]
    return Run(
        length_nm=length,
        closed=closed,
        zones=zones,
        tabs_nm=tuple(tabs),
        reaches=tuple(reaches),
        keep_off=tuple(keep_off),
        starts_nm=tuple(starts) if closed else (),
    ), rules


def roof_run(rng: random.Random, longest_side: int) -> tuple[Run, PieceRules]:
    """Return a run round an array, or round part of one.

    A unit is 3 in and pieces are cut on every second: 10 ft of mesh, overlaps of 6 in up to
    18 in, a fixing every 8 ft, weights of a foot or none.
    """
    sides = [rng.randint(8, longest_side) for _ in range(2)]
    corners = [0]
    for number in range(rng.choice([4, 4, 4, 3, 2])):
        corners.append(corners[-1] + sides[number % 2])
    closed, length = len(corners) == 5, corners.pop()
    tabs, reaches = [], []
    tabs_on_sides = rng.random() < 0.75
    for number, (low, high) in enumerate(pairwise([*corners, length])):
        if number % 2 and tabs_on_sides and rng.random() < 0.8:
            count = rng.randint(1, 3)
            tabs += rng.sample(range(low + 1, high), count)
        elif rng.random() < 0.8:
            left = rng.choice([0, 0, 5, 20])
            if low + left < high:
                mesh = rng.randint(4, 14)
                reaches.append(Reach(start_nm=low + left, end_nm=high, return_nm=mesh))
    pipes = rng.sample(range(length), k=rng.choice([0, 0, 1, 2]))
    keep_off = [KeepOff(at_nm=at, distance_nm=2) for at in corners[0 if closed else 1 :]]
    keep_off += [KeepOff(at_nm=at, distance_nm=1) for at in tabs]
    keep_off += [KeepOff(at_nm=at, distance_nm=rng.randint(0, 2)) for at in pipes]
    overlaps = rng.choice([(1, 2), (2, 4)])
    rules = PieceRules(
        piece_nm=40,
        grid_nm=2,
        min_piece_length_nm=8,
        most_overlap_nm=rng.choice([0, 6]),
        cut_weight_nm=rng.choice([0, 2]),
        return_weight_nm=rng.choice([0, 4]),
    )
    return Run(
        length_nm=length,
        closed=closed,
        zones=random_zones(rng, length, rng.choice([0, 0, 1, 2]), overlaps, (8, 20), 2),
        tabs_nm=tuple(sorted(tabs)),
        reaches=tuple(reaches),
        keep_off=tuple(keep_off),
        starts_nm=tuple((rng.sample(tabs, k=min(len(tabs), 3)) or corners[:2]) if closed else ()),
    ), rules


def random_zones(
    rng: random.Random,
    length: int,
    cuts: int,
    overlaps: tuple[int, int],
    spans: tuple[int, int],
    grid: int,
) -> tuple[RunZone, ...]:
    """Return zones that follow on one another along a run."""
    bounds = sorted({0, length, *rng.sample(range(1, length), k=cuts)})
    limited = rng.random() < 0.85
    return tuple(
        RunZone(
            start_nm=low,
            end_nm=high,
            overlap_nm=rng.randint(*overlaps),
            span_nm=grid * rng.randint(*spans) if limited and rng.random() < 0.9 else None,
        )
        for low, high in pairwise(bounds)
    )


def random_reach(rng: random.Random, length: int, closed: bool, most: int) -> Reach:
    """Return a stretch where returns can be made; on a closed run it may pass the origin."""
    start = rng.randrange(length)
    end = rng.randint(start, start + length if closed else length)
    return Reach(start_nm=start, end_nm=end, return_nm=rng.randint(1, most))


def scaled(value: Any, factor: int) -> Any:
    """Return a run, its rules or its layout with every length so many times as long."""
    if isinstance(value, tuple):
        return tuple(scaled(each, factor) for each in value)
    if not isinstance(value, msgspec.Struct):
        return value
    changes = {}
    for name in value.__struct_fields__:
        each = getattr(value, name)
        if name.endswith("_nm") and each is not None:
            lengths = each if isinstance(each, tuple) else (each,)
            longer = tuple(length * factor for length in lengths)
            changes[name] = longer if isinstance(each, tuple) else longer[0]
        else:
            changes[name] = scaled(each, factor)
    return type(value)(**changes)


def rotated(run: Run, by: int) -> Run:
    """Return a closed run of one zone with its origin moved back along it."""
    length = run.length_nm

    def place(at: int) -> int:
        return (at + by) % length

    replace = msgspec.structs.replace
    return replace(
        run,
        tabs_nm=tuple(sorted(map(place, run.tabs_nm))),
        reaches=tuple(
            replace(
                reach,
                start_nm=place(reach.start_nm),
                end_nm=place(reach.start_nm) + reach.end_nm - reach.start_nm,
            )
            for reach in run.reaches
        ),
        keep_off=tuple(replace(point, at_nm=place(point.at_nm)) for point in run.keep_off),
        starts_nm=tuple(map(place, run.starts_nm or (0,))),
    )
