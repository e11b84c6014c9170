"""What a plan says in words: its title, the counts, what it leaves unnamed, the description."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.drawing.names import Named
from service.quantity.show import System, long
from service.rulesets.ruleset import RuleSet


def counted(laid: LaidPlane, system: System) -> list[str]:
    """Return what a plane comes to, part by part."""
    runs = laid.runs
    counts = (
        (len(laid.plane.modules), "module"),
        (sum(len(run.pieces) for run in runs), "piece"),
        (sum(len(run.layout.laps) for run in runs), "lap"),
        (len(laid.corners), "corner"),
        (sum(len(run.placed.run.tabs_nm) for run in runs), "tab"),
        (sum(len(run.layout.returns) for run in runs), "return"),
        (sum(len(run.placed.penetrations_nm) for run in runs), "penetration"),
    )
    parts = [f"{count} {noun}{'' if count == 1 else 's'}" for count, noun in counts if count]
    if not runs:
        return [*parts, "no channel"]
    perimeter = long(sum(run.placed.run.length_nm for run in runs), system, "up").text
    return [*parts, f"{perimeter} of channel round it"]


def title_of(laid: LaidPlane, number: int) -> str:
    """Return what a plane is called; `number` tells it from others, 0 where there are none."""
    if laid.plane.name:
        return f"roof plane {laid.plane.name}"
    return f"roof plane {number}" if number else "roof plane"


def described(
    planes: Sequence[LaidPlane],
    titles: Sequence[str],
    strips: Sequence[str],
    rules: RuleSet,
    system: System,
) -> str:
    """Return a drawing in words, for those who do not see it."""
    parts = [
        f"Plan to scale of a wire-mesh barrier round a rooftop solar array, by {rules.name}.",
        *(f"{strip}." for strip in strips),
    ]
    for title, laid in zip(titles, planes, strict=True):
        parts.append(f"{title[0].upper()}{title[1:]}: {', '.join(counted(laid, system))}.")
        parts.append(_edges_told(laid, system))
    return " ".join(part for part in parts if part)


def _edges_told(laid: LaidPlane, system: System) -> str:
    """Return the edges of a plane in words, where they are not too many to listen to."""
    if not 0 < len(laid.edges) <= _MOST_EDGES_TOLD:
        return ""
    told = [
        f"{edge.name} faces the {_SIDES[edge.edge.facing]},"
        f" {long(edge.edge.length_nm, system, 'up').text}{', left open' if edge.open else ''}"
        for edge in laid.edges
    ]
    return f"Edges: {'; '.join(told)}."


_MOST_EDGES_TOLD = 16
_SIDES = {"eave": "eave", "ridge": "ridge", "left": "left side", "right": "right side"}


def naming_notes(named: Sequence[Named], unnamed_edges: int) -> list[str]:
    """Return what a plan leaves unnamed, and how to tell it."""
    notes = []
    first = [one.run for one in named if one.step > max(one.count, 1)]
    if first:
        notes.append(
            f"Only the first piece of {_listed(first)} is named; the others follow in turn."
        )
    for step in sorted({one.step for one in named if 1 < one.step <= one.count}):
        runs = _listed([one.run for one in named if one.step == step <= one.count])
        notes.append(
            f"On {runs} one piece in {step} is named ({step}, {2 * step}, ...);"
            " the others follow in turn."
        )
    bare = [one.run for one in named if one.step == 0]
    if bare:
        notes.append(
            f"The pieces of {_listed(bare)} are not named: there is no room at this scale."
        )
    if unnamed_edges:
        plural = "s have" if unnamed_edges > 1 else " has"
        notes.append(f"{unnamed_edges} edge{plural} no room for a name at this scale.")
    return notes


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - 6} more runs" if len(names) > 6 else ""
    return ("run " if len(names) == 1 else "runs ") + ", ".join(names[:6]) + more
