"""From the modules of one roof plane to the loops round which the barrier runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from msgspec.structs import astuple

from service.calc.outline.alignment import align
from service.calc.outline.axes import UPRIGHT, Axes, Polygons, connected, polygons_of, tidied
from service.calc.outline.closing import close_mixed, close_modules
from service.calc.outline.loops import ArrayShape, build_arrays
from service.calc.outline.notes import Finding, find_narrow
from service.calc.outline.overlaps import Healed, find_overlaps
from service.calc.outline.read import Place, read_plane
from service.calc.outline.shape import (
    ROUNDING_NM,
    Box,
    DrawnShape,
    GapRules,
    Module,
    Note,
    Outline,
)
from service.errors import BadInputError

_LEAST_NOTED_NM = 10_000
"""A hundredth of a millimeter: below that, computed coordinates differ by chance."""


def outline_of(
    modules: Sequence[Module], drawn: Sequence[DrawnShape] = (), *, rules: GapRules
) -> Outline:
    """Return the loops round the arrays that modules and drawn shapes form.

    Modules with the same rotation, or a quarter turn more, are closed in axes rotated with them:
    gaps up to the join gap, measured straight across or up, are filled, and no corner is
    invented. Overlaps and steps in an edge up to the level gap are taken for rounding and noted:
    the edge follows the outermost module. Arrays of other rotations and drawn shapes within the
    join gap of one another are then joined as they are.
    Limits: 20,000 modules, 4,000 drawn points, 10 km across.
    Errors: BadInputError, all faults at once, with paths from ("modules", i) or ("outline", i).
    """
    plane, faults = read_plane(modules, drawn, rules)
    overlaps, healed = find_overlaps(plane, rules.tolerance_nm)
    if faults or overlaps:
        raise BadInputError([*faults, *overlaps])
    closed: list[ArrayShape] = []
    is_drawn = np.isnan(plane.degrees)
    for degrees in np.unique(plane.degrees[~is_drawn]):
        axes = Axes(float(degrees))
        join_nm = rules.join_gap_nm + (0 if axes == UPRIGHT else 2 * ROUNDING_NM)
        parts = close_modules(plane.boxes[plane.degrees == degrees], join_nm, rules.alignment_nm)
        parts, steps = align(parts, rules.alignment_nm)
        healed += [(nm, axes.to_roof(np.array(ends))) for nm, ends in steps]
        closed += [ArrayShape(axes, part) for part in parts]
    shapes = _joined(closed, plane.areas[is_drawn], rules.join_gap_nm)
    roof = np.array([_in_axes(shape, UPRIGHT) for shape in shapes])
    found = [*find_narrow(shapes, roof, rules), *_rounding(healed)]
    arrays = build_arrays(shapes, plane.origin)
    return Outline(
        arrays=arrays,
        perimeter_nm=sum(array.perimeter_nm for array in arrays),
        notes=_notes(found, plane.origin),
    )


def _joined(closed: list[ArrayShape], drawn: Polygons, join_nm: int) -> list[ArrayShape]:
    """Return arrays and drawn shapes, those within the join gap of one another joined."""
    if not drawn.size and len({shape.axes for shape in closed}) <= 1:
        return closed
    shapes = [*closed, *(ArrayShape(UPRIGHT, area) for area in drawn)]
    group = np.array([shape.axes.degrees for shape in closed] + [*range(-len(drawn), 0)])
    areas = np.array([_in_axes(shape, UPRIGHT) for shape in shapes])
    one, other = shapely.STRtree(areas).query(
        areas, predicate="dwithin", distance=join_nm + 2 * ROUNDING_NM
    )
    apart = group[one] != group[other]
    joined: list[ArrayShape] = []
    for members in connected(len(shapes), one[apart].tolist(), other[apart].tolist()):
        if len(members) == 1 and members[0] < len(closed):
            joined += [shapes[at] for at in members]
            continue
        turns = {shapes[at].axes for at in members if at < len(closed)}
        axes = turns.pop() if len(turns) == 1 else UPRIGHT
        own = np.array([_in_axes(shapes[at], axes) for at in members])
        is_drawn = np.array(members) >= len(closed)
        parts = (
            close_mixed(own, is_drawn, join_nm)
            if len(members) > 1
            else tidied(polygons_of(own[0]), ROUNDING_NM)
        )
        joined += [ArrayShape(axes, part) for part in parts]
    return joined


def _in_axes(shape: ArrayShape, axes: Axes) -> shapely.Polygon:
    """Return an array as a polygon in other axes; corners may move by a nanometer."""
    if shape.axes == axes:
        return shape.polygon
    roof = shapely.transform(shape.polygon, shape.axes.to_roof)
    return shapely.transform(roof, axes.from_roof)


def _rounding(healed: Sequence[Healed]) -> Iterator[Finding]:
    """Yield the depth of what was taken for rounding, and where it is that deep."""
    deepest_nm = max((nm for nm, _ in healed), default=0)
    if deepest_nm > _LEAST_NOTED_NM:
        places = np.concatenate([place for nm, place in healed if nm == deepest_nm])
        yield Finding("overlap_within_rounding", deepest_nm, places)


def _notes(found: Iterable[Finding], origin: Place) -> tuple[Note, ...]:
    notes = []
    for kind, width_nm, place in found:
        across, up = zip(*np.rint(place).astype(int).tolist(), strict=True)
        box = Box(
            left_nm=min(across) + origin[0],
            lower_nm=min(up) + origin[1],
            right_nm=max(across) + origin[0],
            upper_nm=max(up) + origin[1],
        )
        notes.append(Note(kind=kind, place=box, width_nm=width_nm))
    return tuple(sorted(notes, key=lambda note: (note.kind, astuple(note.place))))
