"""The wire form of a materials request."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

import msgspec

from service.calls.array_forms import ArraysForm, EdgeForm, FacingForm, PlaneForm
from service.calls.forms import Form, ZoneName
from service.calls.layout_forms import ARRAY_OR_PLANES, Path, array_faults
from service.errors import Fault
from service.facts import Clearance, Joining, Painted
from service.quantity.kinds import Perimeter, RollLength, StripWidth

Count = Annotated[int, msgspec.Meta(ge=0, le=100_000)]


def _one_of(first: str, first_type: str, second: str, second_type: str) -> dict[str, Any]:
    """Return the JSON Schema of exactly one of two members; the other is null or left out."""
    return {
        "oneOf": [
            {
                "required": [wanted],
                "properties": {wanted: {"type": wanted_type}, other: {"type": "null"}},
            }
            for wanted, wanted_type, other in (
                (first, first_type, second),
                (second, second_type, first),
            )
        ]
    }


_UNCOUNTED = {
    "corners": {"enum": [None, 0]},
    "penetrations": {"const": 0},
    "zones": {"maxProperties": 0},
}
"""What JSON Schema says of figures that a layout counts itself."""

_UNREAD = {
    kind: {"items": {"properties": {"clearance": {"type": "null"}}}}
    for kind in ("edges", "facings")
}
_UNMEASURED = {
    "properties": {
        "layout": {"properties": {**_UNREAD, "planes": {"items": {"properties": _UNREAD}}}}
    }
}
"""What JSON Schema says of readings by edge where the strip is told."""


class MaterialsForm(Form, frozen=True, kw_only=True):
    """List the materials for a perimeter or a layout, with a clearance or a strip width."""

    also: ClassVar[dict[str, Any]] = {
        "allOf": [
            _one_of("perimeter", "string", "layout", "object"),
            _one_of("clearance", "object", "strip_width", "string"),
            {"properties": {"layout": {"anyOf": [{"type": "null"}, ARRAY_OR_PLANES]}}},
            {"anyOf": [{"properties": {"layout": {"type": "null"}}}, {"properties": _UNCOUNTED}]},
            {"anyOf": [{"properties": {"strip_width": {"type": "null"}}}, _UNMEASURED]},
        ]
    }

    perimeter: Annotated[
        Perimeter | None, msgspec.Meta(description="Round the array, or all arrays.")
    ] = None
    layout: Annotated[
        ArraysForm | None,
        msgspec.Meta(description="Instead of a perimeter: the arrays, to be laid out and counted."),
    ] = None
    clearance: Clearance | None = None
    strip_width: Annotated[
        StripWidth | None, msgspec.Meta(description="Instead of a clearance: the strip to use.")
    ] = None
    joining: Annotated[
        Joining, msgspec.Meta(description="How pieces are joined where they lap.")
    ] = "rings"
    painted: Annotated[
        Painted, msgspec.Meta(description="Whether parts are bought black, or sprayed.")
    ] = "prepainted"
    corners: Annotated[
        Count | None,
        msgspec.Meta(description="Corners round the array; left out: the rule set's usual count."),
    ] = None
    penetrations: Annotated[
        Count, msgspec.Meta(description="Conduits, pipes and vents at the edge.")
    ] = 0
    roll_length: Annotated[
        RollLength | None,
        msgspec.Meta(description="One of the lengths mesh is sold in; left out: the usual one."),
    ] = None
    zones: Annotated[
        dict[ZoneName, Perimeter],
        msgspec.Meta(
            max_length=10,
            description="Lengths of the perimeter in zones of the rule set; the rest is standard.",
            examples=[{"exposed": "30 ft"}],
        ),
    ] = {}  # noqa: RUF012 - msgspec copies it

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return a fault for each pair of members of which not exactly one is given."""
        return [
            *_exactly_one(raw, "clearance", "strip_width"),
            *_exactly_one(raw, "perimeter", "layout"),
        ]

    def faults(self) -> list[Fault]:
        """Return what is wrong between members: pairs of which one is given, and the zones."""
        if self._plainly_sound():
            return []
        either = ("clearance", "strip_width", "perimeter", "layout")
        found = self.missing({name: getattr(self, name) for name in either})
        if self.layout is not None:
            found += array_faults(self.layout, ("layout",))
            found += self._counted_anyway()
            found += self._sized_anyway(self.layout)
        if self.perimeter is not None and sum(self.zones.values()) > self.perimeter:
            problem = "The zones are longer than the perimeter."
            remedy = "Give parts of the perimeter."
            found.append(Fault(path=("zones",), problem=problem, remedy=remedy))
        return found

    def _plainly_sound(self) -> bool:
        """Return whether one of each pair is given, and nothing that must be looked into."""
        one_gap = (self.clearance is None) is not (self.strip_width is None)
        return one_gap and self.layout is None and self.perimeter is not None and not self.zones

    def _counted_anyway(self) -> list[Fault]:
        """Return a fault for each figure that a layout counts itself."""
        told = {"corners": self.corners, "penetrations": self.penetrations, "zones": self.zones}
        problem = "The layout counts this itself."
        return [
            Fault(path=(name,), problem=problem, remedy="Leave it out, or tell it in the layout.")
            for name, value in told.items()
            if value
        ]

    def _sized_anyway(self, layout: ArraysForm) -> list[Fault]:
        """Return a fault for readings by edge where the strip is told."""
        if self.strip_width is None:
            return []
        parts: list[tuple[Path, ArraysForm | PlaneForm]] = [((), layout)]
        parts += [(("planes", at), plane) for at, plane in enumerate(layout.planes)]
        problem = "A strip width and readings are given."
        return [
            Fault(path=("layout", *path, kind, at, "clearance"), problem=problem, remedy=_EITHER)
            for path, part in parts
            for kind, told in _by_edge(part)
            for at, one in enumerate(told)
            if one.clearance is not None
        ]


def _by_edge(
    part: ArraysForm | PlaneForm,
) -> tuple[tuple[str, tuple[EdgeForm | FacingForm, ...]], ...]:
    return ("edges", part.edges), ("facings", part.facings)


_EITHER = "Give the strip width, or a clearance and readings by edge."


def _exactly_one(given_members: Mapping[str, Any], first: str, second: str) -> list[Fault]:
    given = [name for name in (first, second) if given_members.get(name) is not None]
    if len(given) == 1:
        return []
    problem = f"A {first} and a {second} are given." if given else "This is missing."
    problem = problem.replace("_", " ")
    remedy = f"Give the {first} or the {second}, one of the two."
    return [Fault(path=(second if given else first,), problem=problem, remedy=remedy)]
