"""What is told of a plane twice, or against something else that is told of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.calls.array_forms import EdgeForm, FacingForm, RailsForm
from service.errors import Fault

Path = tuple[str | int, ...]


def contradictions(
    rails: RailsForm, edges: Sequence[EdgeForm], facings: Sequence[FacingForm], path: Path
) -> list[Fault]:
    """Return a fault for each thing of which the one telling would silently undo the other."""
    return [
        *_rails(rails, (*path, "rails")),
        *_twice([one.edge for one in edges], (*path, "edges"), "edge"),
        *_twice([one.facing for one in facings], (*path, "facings"), "facing"),
    ]


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
