"""Positions of the rails: as given, or inferred from the rows of modules."""

from __future__ import annotations

from collections.abc import Sequence

from gapwright.calc.layout.plane import InferredRails, Plane, Rail
from gapwright.calc.outline import Module, upright_boxes
from gapwright.errors import Fault, InvalidRequestError
from gapwright.rulesets.values import Values

MOST_RAILS = 50_000
"""Rails that are inferred at once: twice what 20,000 modules in rows of one would take."""

Row = tuple[int, int]
"""Where a row begins across the rails, and how deep it is [nm]."""


def rails_of(plane: Plane, values: Values) -> tuple[Rail, ...]:
    """Return the rails of a plane: none for frame clips, and none inferred if that is undecided.

    Inferred ones lie under each row of modules, the outer ones inset by a part of the module's
    length from its ends, and stick out at both ends of the row. Modules that are turned otherwise
    than by right angles have none, and neither have drawn shapes.
    """
    attachment = plane.attachment.value
    if plane.rails is None or attachment == "frame_clips":
        return ()
    if isinstance(plane.rails, InferredRails):
        if attachment == "undecided":
            return ()
        return tuple(_inferred(plane.modules, plane.rails, values))
    return tuple(plane.rails)


def _inferred(modules: Sequence[Module], given: InferredRails, values: Values) -> list[Rail]:
    across = given.direction == "slope"
    overhang = values.rail_overhang if given.overhang_nm is None else given.overhang_nm
    rails: list[Rail] = []
    offsets: dict[int, list[int]] = {}
    rows = _rows(upright_boxes(modules), across, values.max_module_gap)
    per_row = values.rails_per_row if given.per_row is None else given.per_row
    if per_row * sum(len(stretches) for stretches in rows.values()) > MOST_RAILS:
        problem = f"{per_row} rails per row make more rails than one request may lay out."
        remedy = "Use fewer rails per row, or split the job into several requests."
        raise InvalidRequestError(
            [Fault(path=("rails", "per_row"), problem=problem, remedy=remedy)]
        )
    for (low, depth), stretches in rows.items():
        if depth not in offsets:
            offsets[depth] = _offsets(depth, given, values)
        for offset in offsets[depth]:
            place = low + offset
            for start, end in stretches:
                first, last = (start - overhang, place), (end + overhang, place)
                if across:
                    first, last = first[::-1], last[::-1]
                rails.append(Rail(start=first, end=last))
    return rails


def _rows(
    boxes: Sequence[tuple[int, int, int, int]], across: bool, join_nm: int
) -> dict[Row, list[list[int]]]:
    """Return each row with the stretches over which its modules join [nm]."""
    rows: dict[Row, list[tuple[int, int]]] = {}
    for left, lower, right, upper in boxes:
        row, spread = (lower, upper - lower), (left, right)
        if across:
            row, spread = (left, right - left), (lower, upper)
        rows.setdefault(row, []).append(spread)
    return {row: _joined(sorted(spreads), join_nm) for row, spreads in sorted(rows.items())}


def _joined(spreads: list[tuple[int, int]], join_nm: int) -> list[list[int]]:
    joined = [list(spreads[0])]
    for start, end in spreads[1:]:
        if start - joined[-1][1] <= join_nm:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([start, end])
    return joined


def _offsets(depth: int, given: InferredRails, values: Values) -> list[int]:
    """Return how far into a row its rails lie, evenly from inset to inset [nm]."""
    count = values.rails_per_row if given.per_row is None else given.per_row
    inset = values.rail_inset if given.inset is None else given.inset
    if count == 1:
        return [depth // 2]
    first = depth * inset.numerator // inset.denominator
    between = depth - 2 * first
    return [first + between * n // (count - 1) for n in range(count)]
