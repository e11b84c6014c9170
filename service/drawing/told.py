"""What a plan says in words: which signs occur, the counts, and the description for readers."""

from __future__ import annotations

from collections.abc import Sequence

from service.calc.layout.lay import LaidPlane
from service.drawing.bands import laps_are_enlarged
from service.drawing.ground import zones_in
from service.drawing.legend import ZONE
from service.drawing.marks import starts_shown
from service.drawing.names import Named
from service.drawing.sheet import Sheet
from service.drawing.traced import TracedRun
from service.quantity.show import System, long, short
from service.rulesets.ruleset import RuleSet


def signs_in(
    laid: LaidPlane,
    runs: Sequence[TracedRun],
    sheet: Sheet,
    system: System,
    zones: Sequence[str],
    named: Sequence[Named],
) -> dict[str, str]:
    """Return each sign that occurs on a plan, with what it means, in the order of the legend."""
    laps = {lap.lap_nm for run in laid.runs for lap in run.layout.laps}
    corners = [edge.inside for edge in laid.corners]
    patterns = {piece.pattern for run in runs for piece in run.pieces}
    tabs = any(run.placed.run.tabs_nm for run in laid.runs)
    told = [
        ("module", laid.plane.modules, "module"),
        ("area", laid.plane.drawn, "area as drawn"),
        ("rail", laid.rails, "rail"),
        ("p0", 0 in patterns, _piece(named)),
        ("p1", 1 in patterns, "the next piece"),
        ("p2", 2 in patterns, "the piece after that"),
        (
            "start",
            any(starts_shown(run) for run in runs),
            "the work on a run starts here and goes this way",
        ),
        ("lap", laps, _lap(laps, laps_are_enlarged(runs, sheet), system)),
        ("tab", tabs and not laid.rails_upright, "tab, cut on the upslope face of the rail"),
        (
            "tab beside",
            tabs and laid.rails_upright,
            "tab, cut beside a rail that runs up the slope",
        ),
        ("return", any(run.layout.returns for run in laid.runs), _RETURN),
        ("outside", not all(corners), "outside corner"),
        ("inside", any(corners), "inside corner"),
        ("penetration", laid.plane.penetrations, _PENETRATION),
        *((ZONE + zone, True, f"{zone} zone") for zone in zones_in(laid, zones)),
        ("open", any(edge.open for edge in laid.edges), "edge left open: no channel"),
        *_overlong(laid),
    ]
    return {sign: text for sign, occurs, text in told if occurs}


_RETURN = "return, turned in under the array and fixed to its rail"
_PENETRATION = "cut-out in the channel, and the penetration it is for"


def _piece(named: Sequence[Named]) -> str:
    lengths = any(one.lengths for one in named)
    return "piece, with its name" + (" and the length to cut" if lengths else "")


def _lap(laps: set[int], enlarged: bool, system: System) -> str:
    least = short(min(laps, default=0), system, "down").text
    return f"lap, at least {least}" + (" (drawn longer than it is)" if enlarged else "")


def _overlong(laid: LaidPlane) -> list[tuple[str, bool, str]]:
    spans = [span for run in laid.runs for span in run.layout.overlong]
    lacking = any(span.lacking_nm for span in spans)
    return [
        ("overlong", bool(spans), "longer without a fixing than the rule allows"),
        ("lacking", lacking, "a fixing of another kind here would mend it"),
    ]


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
