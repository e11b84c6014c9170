"""From the modules of one roof plane to the loops round which the barrier runs.

Axes: x along the eave, y up the slope, on the roof plane, in whole nanometres. Upright modules
and shapes are computed exactly, in integers, and so are modules turned alike, in axes of their
own; only arrays with slanted edges of several directions go through floats, as `turned` says.
Needs shapely 2.2 (and with it numpy) at run time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from msgspec.structs import astuple

from service.calc.outline.aligned import aligned_rings, turned_alike
from service.calc.outline.build import arrays_of
from service.calc.outline.check import Shape, read_shapes, rule_faults
from service.calc.outline.level import level_rings
from service.calc.outline.loops import Rings, from_lowest, rings_of
from service.calc.outline.notes import ring_of, square_notes
from service.calc.outline.overlap import overlap_findings
from service.calc.outline.rings import Place
from service.calc.outline.shape import (
    DrawnShape,
    GapRules,
    Module,
    Note,
    Outline,
)
from service.calc.outline.square import square_closed
from service.calc.outline.sweep import Pair
from service.calc.outline.turned import slanted_groups, turned_rings
from service.calc.outline.turned_notes import turned_notes
from service.errors import BadInputError

Pairs = tuple[list[Pair], list[Pair]]


def outline_of(
    modules: Sequence[Module], drawn: Sequence[DrawnShape] = (), *, rules: GapRules
) -> Outline:
    """Return the loops [nm] round the arrays that the modules and drawn shapes form.

    Gaps up to the join gap, measured straight across or up, are closed: no corner is invented
    and no outer edge moves. Whatever meets at a corner only stays apart. A hole or slot too
    narrow for a hand keeps its true shape and is noted. Beside turned modules, corners within the
    level gap of a straight edge are left out.
    Limits: 10 km across where anything is turned or drawn.
    Errors: BadInputError, all faults at once: sizes that are not above zero, rings with fewer
    than 3 points or that cross themselves, holes outside, overlaps. Paths begin with
    ("modules", i) or ("outline", i).
    Time: n log n; a full grid of n modules costs little more than reading them.
    """
    shapes, faults = read_shapes(modules, drawn)
    faults += rule_faults(rules)
    mixed = not all(shape.square for shape in shapes)
    origin = _origin(shapes) if mixed else _origin(shapes[:1])
    notes: list[Note] = []
    if faults or mixed:
        overlaps, notes = overlap_findings(shapes, origin, rules.level_gap_nm)
        faults += overlaps
    if faults:
        raise BadInputError(faults)
    rings, pairs, turned = _rings(shapes, rules, origin, mixed=mixed)
    arrays = arrays_of([*rings, *turned])
    slanted = {from_lowest(each.outer) for each in turned}
    numbers = {array.index for array in arrays if slanted and ring_of(array.outer) in slanted}
    notes += square_notes([array for array in arrays if array.index not in numbers], pairs, rules)
    if numbers:
        notes += turned_notes(arrays, numbers, origin, rules)
    perimeter_nm = sum(array.perimeter_nm for array in arrays)
    return Outline(arrays=arrays, perimeter_nm=perimeter_nm, notes=_in_order(notes))


def _rings(
    shapes: Sequence[Shape], rules: GapRules, origin: Place, *, mixed: bool
) -> tuple[list[Rings], Pairs, list[Rings]]:
    """Return the exact rings, the edges of those that face each other, and the turned rings."""
    join_nm = rules.join_gap_nm
    reach_nm = max(rules.hand_gap_nm, rules.near_gap_nm) - 1
    square, groups = slanted_groups(shapes, join_nm, origin) if mixed else (shapes, [])
    whole = square_closed(square, join_nm, reach_nm, origin)
    return rings_of(whole.region), whole.narrow, _slanted(groups, rules, origin)


def _slanted(groups: Sequence[list[Shape]], rules: GapRules, origin: Place) -> list[Rings]:
    """Return the arrays of groups with slanted edges; modules turned alike in their own axes."""
    by_turn: dict[float, list[Shape]] = defaultdict(list)
    others: list[Shape] = []
    for group in groups:
        turn = turned_alike(group)
        (others if turn is None else by_turn[turn]).extend(group)
    join_nm = rules.join_gap_nm
    found = turned_rings(others, join_nm, origin) if others else []
    for alike in by_turn.values():
        found += aligned_rings(alike, join_nm, origin)
    return level_rings(found, others, rules.level_gap_nm)


def _origin(shapes: Sequence[Shape]) -> Place:
    """Return the lower left end of all shapes, whatever their order."""
    points = [point for shape in shapes for point in shape.outline[0]]
    return min((x for x, _ in points), default=0), min((y for _, y in points), default=0)


def _in_order(notes: Sequence[Note]) -> tuple[Note, ...]:
    return tuple(sorted(notes, key=lambda note: (note.kind, astuple(note.place), note.arrays)))
