"""Faults of a plane's geometry as the caller knows it: paths of the request, the caller's units."""

from __future__ import annotations

import msgspec

from service.calc.outline import OverlapFault
from service.calls.array_forms import ArrayForm
from service.errors import BadInputError, Fault
from service.quantity.show import MARKS_NM, System, short

Path = tuple[str | int, ...]


def told(error: BadInputError, array: ArrayForm, path: Path, system: System) -> list[Fault]:
    """Return faults of a plane's geometry with paths that lead into the request."""
    return [_told(fault, array, path, system) for fault in error.faults]


def beside(fault: Fault, path: Path) -> Fault:
    """Return a fault of a plane as a whole with a path that leads into the request."""
    return within(fault, path[:-1])


def within(fault: Fault, path: Path) -> Fault:
    """Return a fault of a member at a path that leads from the request's root."""
    return Fault(path=(*path, *fault.path), problem=fault.problem, remedy=fault.remedy)


class _Place(msgspec.Struct, frozen=True):
    """Where the request tells of a shape; `within` says which module of a block it is."""

    path: Path
    within: str = ""


def _told(fault: Fault, array: ArrayForm, path: Path, system: System) -> Fault:
    place = _place(fault.path, array)
    problem = fault.problem
    if isinstance(fault, OverlapFault):
        problem = _overlap(fault, place, _place(fault.other, array), system)
    return within(Fault(path=place.path, problem=problem, remedy=fault.remedy), path)


def _overlap(fault: OverlapFault, place: _Place, other: _Place, system: System) -> str:
    own = f"Its module in {place.within}" if place.within else "It"
    name = "/".join(str(step) for step in other.path)
    if other.within:
        name = f"the module in {other.within} of {name}"
    across, up = (_size(size, system) for size in (fault.across_nm, fault.up_nm))
    return f"{own} overlaps {name} over {across} by {up}."


def _size(nm: int, system: System) -> str:
    shown = short(nm, system, "up").text
    return f"less than {shown}" if nm < MARKS_NM[system] else shown


def _place(steps: Path, array: ArrayForm) -> _Place:
    """Return the place in the request that steps to a module lead to.

    Modules of blocks are counted after the single ones, block by block and row by row.
    """
    if len(steps) < 2 or steps[0] != "modules":
        return _Place(steps)
    number = int(steps[1]) - len(array.modules)
    if number < 0:
        return _Place(steps)
    for at, block in enumerate(array.blocks):
        if number < block.rows * block.columns:
            row, column = divmod(number, block.columns)
            return _Place(("blocks", at), f"row {row + 1}, column {column + 1}")
        number -= block.rows * block.columns
    return _Place(("blocks",))
