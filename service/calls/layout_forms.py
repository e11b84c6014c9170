"""The wire form of a layout request, and what is wrong between its members."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, ClassVar

import msgspec

from service.calls.array_forms import (
    MOST_MODULES,
    ArrayForm,
    ArraysForm,
    EdgeForm,
    FacingForm,
    Place,
    PlaneForm,
    RailsForm,
)
from service.calls.contradictions import UNTOLD_SCHEMA, contradictions, told_of_array
from service.calls.forms import Form
from service.errors import Fault
from service.facts import Clearance
from service.quantity.kinds import RollLength

Path = tuple[str | int, ...]

ARRAY_OR_PLANES: dict[str, Any] = {
    "oneOf": [
        {
            "required": ["array"],
            "properties": {"array": {"type": "object"}, "planes": {"maxItems": 0}},
        },
        {
            "required": ["planes"],
            "properties": {
                "planes": {"minItems": 1},
                "array": {"type": "null"},
                **UNTOLD_SCHEMA,
            },
        },
    ]
}
"""What the JSON Schema of a form with arrays says beyond its members."""


class LayoutForm(Form, frozen=True, kw_only=True):
    """Lay the channel out round the arrays of one roof plane, or of several in `planes`."""

    also: ClassVar[dict[str, Any]] = ARRAY_OR_PLANES

    clearance: Clearance
    array: ArrayForm | None = None
    rails: RailsForm = RailsForm()
    penetrations: Annotated[tuple[Place, ...], msgspec.Meta(max_length=500)] = ()
    edges: Annotated[tuple[EdgeForm, ...], msgspec.Meta(max_length=2000)] = ()
    facings: Annotated[tuple[FacingForm, ...], msgspec.Meta(max_length=4)] = ()
    planes: Annotated[tuple[PlaneForm, ...], msgspec.Meta(max_length=50)] = ()
    roll_length: RollLength | None = None

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return a fault where neither an array nor planes are given, or both are."""
        return _one_way(raw.get("array") is not None, bool(raw.get("planes")), ())

    def faults(self) -> list[Fault]:
        """Return what is wrong between members, as `array_faults` does."""
        return array_faults(self)


def array_faults(form: LayoutForm | ArraysForm, path: Path = ()) -> list[Fault]:
    """Return what is wrong between members.

    There is one array or a list of planes, each with something, and nothing is told of a plane
    twice or against something else.
    """
    found = _one_way(form.array is not None, bool(form.planes), path)
    if form.array is not None:
        found += empty_faults(form.array, (*path, "array"))
    found += _misplaced(form, path) if form.planes else _contradictions(form, path)
    for at, plane in enumerate(form.planes):
        found += empty_faults(plane.array, (*path, "planes", at, "array"))
        found += _contradictions(plane, (*path, "planes", at))
    return found + _named_twice(form.planes, path) + _too_many(form, path)


def _one_way(array: bool, planes: bool, path: Path) -> list[Fault]:
    """Return a fault unless an array or planes are given, one of the two."""
    if array != planes:
        return []
    problem = "An array and planes are given." if array else "This is missing."
    remedy = "Give the array of one plane, or planes."
    return [Fault(path=(*path, "planes" if array else "array"), problem=problem, remedy=remedy)]


def _contradictions(plane: LayoutForm | ArraysForm | PlaneForm, path: Path) -> list[Fault]:
    return contradictions(plane.rails, plane.edges, plane.facings, path)


def _misplaced(form: LayoutForm | ArraysForm, path: Path) -> list[Fault]:
    """Return a fault for each thing that is told beside planes: it would hold on none of them."""
    problem = "This belongs to one plane, and planes are given."
    remedy = "Tell it within the plane."
    return [
        Fault(path=(*path, name), problem=problem, remedy=remedy) for name in told_of_array(form)
    ]


def _named_twice(planes: tuple[PlaneForm, ...], path: Path) -> list[Fault]:
    """Return a fault for each plane that is called as one before it."""
    names = [plane.name or str(at) for at, plane in enumerate(planes, 1)]
    problem = "Another plane is called that."
    remedy = "Name each plane once; one without a name is called by its number."
    return [
        Fault(path=(*path, "planes", at, "name"), problem=problem, remedy=remedy)
        for at, name in enumerate(names)
        if name in names[:at]
    ]


def empty_faults(array: ArrayForm, path: Path) -> list[Fault]:
    """Return a fault where an array holds nothing."""
    if _count(array) or array.outline:
        return []
    remedy = "Give modules, blocks or an outline."
    return [Fault(path=path, problem="The array is empty.", remedy=remedy)]


def _too_many(form: LayoutForm | ArraysForm, path: Path) -> list[Fault]:
    """Return a fault where all planes together have more modules than are laid out at once."""
    arrays = [*([form.array] if form.array else []), *(plane.array for plane in form.planes)]
    return too_many(arrays, (*path, "array" if form.array else "planes"))


def too_many(arrays: Sequence[ArrayForm], path: Path) -> list[Fault]:
    """Return a fault where arrays together have more modules than are laid out at once."""
    count = sum(_count(array) for array in arrays)
    if count <= MOST_MODULES:
        return []
    problem = f"There are {count} modules."
    return [Fault(path=path, problem=problem, remedy=f"Lay out at most {MOST_MODULES} at once.")]


def _count(array: ArrayForm) -> int:
    return len(array.modules) + sum(block.rows * block.columns for block in array.blocks)
