"""What is told of a plane twice, against something else that is told of it, or of no array."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from service.calls.array_forms import EdgeForm, FacingForm, RailsForm
from service.errors import Fault

Path = tuple[str | int, ...]

_UNTOLD: dict[str, Any] = {"rails": RailsForm(), "penetrations": (), "edges": (), "facings": ()}
"""What is told of an array that is drawn, each with its value where nothing is told."""

_NO_RAILS = {name: {"const": value} for name, value in msgspec.structs.asdict(RailsForm()).items()}
UNTOLD_SCHEMA: dict[str, Any] = {
    "rails": {"properties": _NO_RAILS},
    **{name: {"maxItems": 0} for name in ("penetrations", "edges", "facings")},
}
"""What JSON Schema says of these members where no array is drawn."""


def contradictions(
    rails: RailsForm, edges: Sequence[EdgeForm], facings: Sequence[FacingForm], path: Path
) -> list[Fault]:
    """Return a fault for each thing of which the one telling would silently undo the other."""
    return [
        *_rails(rails, (*path, "rails")),
        *_twice([one.edge for one in edges], (*path, "edges"), "edge"),
        *_twice([one.facing for one in facings], (*path, "facings"), "facing"),
    ]


def told_of_array(form: msgspec.Struct) -> list[str]:
    """Return the members of a form that tell something of an array that is drawn."""
    return [name for name, untold in _UNTOLD.items() if getattr(form, name) != untold]


def _rails(rails: RailsForm, path: Path) -> Iterator[Fault]:
    inferred = [
        name for name in ("per_row", "inset", "overhang") if getattr(rails, name) is not None
    ]
    inferred += ["direction"] if rails.direction != RailsForm().direction else []
    known = ["segments"] if rails.segments else []
    if rails.none:
        problem = "No rails are told, and how they lie as well."
        for name in (*known, *inferred):
            yield Fault(path=(*path, name), problem=problem, remedy="Leave out one of them.")
    elif rails.segments is not None:
        problem = "Rails are told as they lie, and how they are to be taken as well."
        for name in inferred:
            yield Fault(path=(*path, name), problem=problem, remedy="Leave out one of them.")
    for at, segment in enumerate(rails.segments or ()):
        if segment.start == segment.end:
            place = (*path, "segments", at)
            problem = "The rail ends where it starts."
            yield Fault(path=place, problem=problem, remedy="Give both its ends.")


def _twice(names: Sequence[str], path: Path, member: str) -> Iterator[Fault]:
    known: set[str] = set()
    for at, name in enumerate(names):
        if name in known:
            problem = f"The {member} {name} is told of before."
            remedy = "Put together what holds there."
            yield Fault(path=(*path, at, member), problem=problem, remedy=remedy)
        known.add(name)
