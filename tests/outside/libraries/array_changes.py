"""Random arrays, the same arrays described otherwise, and what both layouts have in common.

Moved, listed in another order, renamed: everything is the same but coordinates and names.

Turned by a quarter: the runs are the same, but begin at another corner, and list their starts in
another order, for those on the left and right come first. What the best of all starts gives is
the same in unsupported length, pieces and cost in mesh; only the first few starts are tried,
though, and these may be others.

In other units: the same answer to the same array in millimeters, and the same counts and, to the
millimeter that a metric answer shows, the same lengths in an answer in the other units.

Mirrored: work goes the other way round, seen from the array, so a seam that lay before a tab
lies after it. What the way round does not touch is the same: the perimeter, and along each run
the tabs, corners, penetrations, zones and returns within reach, mirrored. Pieces and mesh
need not be.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise
from typing import Any

import msgspec
from gapwright.calc.layout.lay import LaidPlane, lay_out, outline_plane, piece_rules
from gapwright.calc.layout.plane import Plane, Rail, SideFacts
from gapwright.calc.outline import Facing, Module
from gapwright.calc.pieces import PieceLayout, Run, lay_pieces
from gapwright.rulesets.ruleset import RuleSet

from tests.outside.libraries.pieces_facts import return_mesh
from tests.outside.libraries.pieces_model import on_run
from tests.unit.measures import IN

SIXTEENTH = IN // 16
Spot = tuple[int, int]
Place = Callable[[Spot], Spot]
TURNED: dict[Facing, Facing] = {"eave": "right", "right": "ridge", "ridge": "left", "left": "eave"}
MIRRORED: dict[Facing, Facing] = {"left": "right", "right": "left"}


def random_plane(seed: int, most_columns: int = 6, most_rows: int = 3) -> Plane:
    """Return modules in a grid with rails, penetrations and facts, on sixteenths of an inch."""
    rng = random.Random(seed)
    wide, high = (rng.randint(36 * 16, 70 * 16) * SIXTEENTH for _ in range(2))
    columns, rows = rng.randint(1, most_columns), rng.randint(1, most_rows)
    cells = [(i, j) for i in range(columns) for j in range(rows) if rng.random() < 0.9] or [(0, 0)]
    across, up = columns * wide, rows * high

    def somewhere(length: int) -> int:
        return rng.randint(-4 * 16, length // SIXTEENTH + 4 * 16) * SIXTEENTH

    rails = []
    for _ in range(rng.choice([0, rows, 2 * rows, 2 * rows])):
        y = somewhere(up)
        low, high_end = sorted((rng.choice([-3 * IN, somewhere(across)]), across + 3 * IN))
        if low < high_end:  # the service refuses a rail without length
            rails.append(Rail(start=(low, y), end=(high_end, y)))
    for _ in range(rng.choice([0, 0, 0, columns])):
        x = somewhere(across)
        rails.append(Rail(start=(x, -3 * IN), end=(x, up + 3 * IN)))
    spots = [(somewhere(across), rng.choice([0, up])) for _ in range(rng.choice([0, 0, 1, 3]))]
    sides: list[Facing] = ["eave", "ridge", "left", "right"]
    return Plane(
        name="",
        modules=[
            Module(x_nm=i * wide, y_nm=j * high, width_nm=wide, height_nm=high) for i, j in cells
        ],
        drawn=(),
        rails=rails,
        penetrations=spots,
        sides={},
        facings={
            side: SideFacts(
                open=rng.choice([None, None, None, True]),
                zone=rng.choice([None, "exposed", "visible"]),
            )
            for side in rng.sample(sides, rng.choice([0, 0, 1, 2]))
        },
    )


def moved(plane: Plane, place: Place, facings: dict[Facing, Facing] | None = None) -> Plane:
    """Return a plane with everything on it put elsewhere, by quarter turns or mirrors at most."""

    def box(each: Module) -> Module:
        x, y = place((each.x_nm, each.y_nm))
        u, v = place((each.x_nm + each.width_nm, each.y_nm + each.height_nm))
        return Module(x_nm=min(x, u), y_nm=min(y, v), width_nm=abs(u - x), height_nm=abs(v - y))

    named = facings or {}
    assert isinstance(plane.rails, list)
    return msgspec.structs.replace(
        plane,
        modules=[box(each) for each in plane.modules],
        rails=[Rail(start=place(rail.start), end=place(rail.end)) for rail in plane.rails],
        penetrations=[place(spot) for spot in plane.penetrations],
        facings={named.get(side, side): facts for side, facts in plane.facings.items()},
    )


def shuffled(plane: Plane, seed: int) -> Plane:
    """Return a plane with everything on it listed in another order, and rails turned about."""
    rng = random.Random(seed)
    assert isinstance(plane.rails, list)
    rails = [
        rng.choice((rail, Rail(start=rail.end, end=rail.start)))
        for rail in rng.sample(plane.rails, len(plane.rails))
    ]
    return msgspec.structs.replace(
        plane,
        modules=rng.sample(list(plane.modules), len(plane.modules)),
        rails=rails,
        penetrations=rng.sample(list(plane.penetrations), len(plane.penetrations)),
        facings=dict(rng.sample(list(plane.facings.items()), len(plane.facings))),
    )


def laid(plane: Plane, rules: RuleSet) -> LaidPlane:
    return lay_out(plane, outline_plane(plane, rules), rules)


def judged(found: LaidPlane, rules: RuleSet) -> list[tuple[int, ...]]:
    """Return for each run its length and what its layout is judged by, in order."""
    return sorted(score(run.placed.run, run.layout, rules) for run in found.runs)


def score(run: Run, layout: PieceLayout, rules: RuleSet) -> tuple[int, ...]:
    """Return the length of a run and what its layout is judged by: pieces, and cost in mesh."""
    cutting = piece_rules(rules.values)
    custom = sum(piece.cut_nm != cutting.piece_nm for piece in layout.pieces)
    cost = layout.mesh_nm + cutting.return_weight_nm * len(layout.returns)
    return (
        run.length_nm,
        sum(len(overlap.too_near_nm) for overlap in layout.overlaps),
        sum(each.length_nm for each in layout.overlong),
        len(layout.pieces),
        cost + cutting.cut_weight_nm * custom,
    )


def best_of_all_starts(found: LaidPlane, rules: RuleSet) -> list[tuple[int, ...]]:
    """Return for each run what the best layout is judged by when each start is tried alone."""
    cutting = piece_rules(rules.values)
    best = []
    for run in (each.placed.run for each in found.runs):
        alone = [msgspec.structs.replace(run, starts_nm=(start,)) for start in run.starts_nm]
        best.append(min(score(run, lay_pieces(one, cutting), rules) for one in alone or [run]))
    return sorted(best)


def along_all(found: LaidPlane, *, mirrored: bool = False) -> list[tuple[object, ...]]:
    """Return what lies along each run, in an order that does not depend on names."""
    return sorted((along(run.placed.run, mirrored=mirrored) for run in found.runs), key=repr)


def along(run: Run, *, mirrored: bool = False) -> tuple[object, ...]:
    """Return what lies along a run, from whichever place on a closed one."""
    length = run.length_nm
    features: list[tuple[int, tuple[object, ...]]] = [(tab, ("tab",)) for tab in run.tabs_nm]
    features += [(point.at_nm, ("off", point.distance_nm)) for point in run.keep_off]
    for at in {on_run(run, at) for reach in run.reaches for at in (reach.start_nm, reach.end_nm)}:
        before, after = return_mesh(run, at - 1), return_mesh(run, at + 1)
        if before != after:
            sides = (after, before) if mirrored else (before, after)
            features.append((at, ("return", *sides)))
    if not run.closed:
        features += [(0, ("end",)), (length, ("end",))]
    around = [*run.zones, run.zones[0]] if run.closed else list(run.zones)
    for before, after in pairwise(around):
        sides = [(before.overlap_nm, before.span_nm), (after.overlap_nm, after.span_nm)]
        if sides[0] != sides[1]:
            features.append((after.start_nm, ("zone", *(sides[::-1] if mirrored else sides))))
    if mirrored:
        features = [(length - at, what) for at, what in features]
    if run.closed:
        features = [(at % length, what) for at, what in features]
    features.sort(key=repr)
    turns = {at for at, _ in features} if run.closed else {0}
    return min(
        (
            tuple(
                sorted(
                    (
                        ((at - rotation) % length if run.closed else at, what)
                        for at, what in features
                    ),
                    key=repr,
                )
            )
            for rotation in turns
        ),
        key=repr,
        default=(),
    )


def difference(plane: Plane, seed: int, rules: RuleSet) -> str | None:
    """Return which way of describing an array changes what it must not."""
    rng = random.Random(seed)
    here = laid(plane, rules)
    x, y = (rng.randint(-(10**12), 10**12) for _ in range(2))
    other = moved(shuffled(plane, seed), lambda spot: (spot[0] + x, spot[1] + y))
    there = laid(msgspec.structs.replace(other, name="Garage"), rules)
    if [run.layout for run in here.runs] != [run.layout for run in there.runs]:
        return "moved, in another order, renamed: other pieces"
    if [run.pieces for run in here.runs] != [run.pieces for run in there.runs]:
        return "moved, in another order, renamed: other names or marks"
    turned = laid(moved(plane, lambda spot: (-spot[1], spot[0]), TURNED), rules)
    ours, theirs = along_all(here), along_all(turned)
    if ours != theirs:
        return f"turned: {theirs}, not {ours}"
    if judged(here, rules) != judged(turned, rules):
        best, other = best_of_all_starts(here, rules), best_of_all_starts(turned, rules)
        if best != other:
            return f"turned: {other}, not {best}"
    mirror = laid(moved(plane, lambda spot: (-spot[0], spot[1]), MIRRORED), rules)
    ours, theirs = along_all(here), along_all(mirror, mirrored=True)
    return None if ours == theirs else f"mirrored: {theirs}, not {ours}"


def request(plane: Plane, text: Callable[[int], str], units: str) -> dict[str, Any]:
    """Return a plane as a request for a layout, its lengths written by `text`."""

    def place(spot: Spot) -> dict[str, str]:
        return {"x": text(spot[0]), "y": text(spot[1])}

    assert isinstance(plane.rails, list)
    return {
        "units": units,
        "clearance": {"readings": [text(9 * IN // 2)]},
        "array": {
            "modules": [
                {
                    **place((each.x_nm, each.y_nm)),
                    "width": text(each.width_nm),
                    "height": text(each.height_nm),
                }
                for each in plane.modules
            ]
        },
        "rails": {
            "segments": [
                {"start": place(rail.start), "end": place(rail.end)} for rail in plane.rails
            ]
        },
        "penetrations": [place(spot) for spot in plane.penetrations],
        "facings": [
            {"facing": side, "open": facts.open, "zone": facts.zone}
            for side, facts in plane.facings.items()
        ],
    }


def in_inches(length_nm: int) -> str:
    sign = "-" if length_nm < 0 else ""
    whole, rest = divmod(abs(length_nm) // SIXTEENTH, 16)
    return f"{sign}{whole} {rest}/16 in" if rest else f"{sign}{whole} in"


def in_millimeters(length_nm: int) -> str:
    return f"{Decimal(length_nm) / 1_000_000} mm"


def unit_difference(plane: Plane, ask: Callable[[dict[str, Any]], dict[str, Any]]) -> str | None:
    """Return what another unit of the request or of the answer changes; `ask` gives the result."""
    here = ask(request(plane, in_inches, "imperial"))
    if here != ask(request(plane, in_millimeters, "imperial")):
        return "the array in millimeters gives another answer"
    metric = ask(request(plane, in_inches, "metric"))
    whole = {name for name, value in here["counts"].items() if isinstance(value, int)}
    if any(here["counts"][name] != metric["counts"][name] for name in whole):
        return f"counts are {metric['counts']} in metric, not {here['counts']}"
    ours, theirs = ([p["cut_length"]["value"] for p in each["pieces"]] for each in (here, metric))
    for feet, meters in zip(ours, theirs, strict=True):
        if abs(feet * 304.8 - meters * 1000) > 1:
            return f"a piece of {feet} ft is {meters} m"
    return None
