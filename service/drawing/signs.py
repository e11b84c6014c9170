"""Which signs occur on plans, and what a legend to one plan or to several says of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.layout.lay import LaidPlane
from service.drawing.bands import laps_are_enlarged
from service.drawing.ground import zones_in
from service.drawing.legend import ZONE
from service.drawing.marks import starts_shown
from service.drawing.names import Named
from service.drawing.sheet import Sheet
from service.drawing.traced import TracedRun
from service.quantity.show import System, short


class Signs(msgspec.Struct, frozen=True, kw_only=True):
    """The signs on one plan, and what their words depend on.

    `laps_nm` are the lengths of its laps, `enlarged` says whether some are drawn longer than they
    are, `lengths` whether the length to cut stands beside the name of some piece.
    """

    occurring: frozenset[str]
    laps_nm: frozenset[int]
    enlarged: bool
    lengths: bool


def signs_on(
    laid: LaidPlane,
    runs: Sequence[TracedRun],
    sheet: Sheet,
    zones: Sequence[str],
    named: Sequence[Named],
) -> Signs:
    """Return the signs that occur on a plan."""
    return Signs(
        occurring=frozenset(_occurring(laid, runs, zones)),
        laps_nm=frozenset(lap.lap_nm for run in laid.runs for lap in run.layout.laps),
        enlarged=laps_are_enlarged(runs, sheet),
        lengths=any(one.lengths for one in named),
    )


def signs_told(plans: Sequence[Signs], zones: Sequence[str], system: System) -> dict[str, str]:
    """Return each sign that occurs on some plan, with its words, in the order of the legend."""
    told = {
        **_GROUND,
        "p0": _piece(plans),
        **_CHANNEL,
        "lap": _lap(plans, system),
        **_FIXINGS,
        **{ZONE + zone: f"{zone} zone" for zone in zones},
        **_LACKING,
    }
    found = frozenset[str]().union(*(plan.occurring for plan in plans))
    return {sign: words for sign, words in told.items() if sign in found}


_GROUND = {"module": "module", "area": "area as drawn", "rail": "rail"}
_CHANNEL = {
    "p1": "the next piece",
    "p2": "the piece after that",
    "start": "the work on a run starts here and goes this way",
}
_FIXINGS = {
    "tab": "tab, cut on the upslope face of the rail",
    "tab beside": "tab, cut beside a rail that runs up the slope",
    "return": "return, turned in under the array and fixed to its rail",
    "outside": "outside corner",
    "inside": "inside corner",
    "penetration": "cut-out in the channel, and the penetration it is for",
}
_LACKING = {
    "open": "edge left open: no channel",
    "overlong": "longer without a fixing than the rule allows",
}


def _occurring(laid: LaidPlane, runs: Sequence[TracedRun], zones: Sequence[str]) -> Iterator[str]:
    """Yield the signs that occur on a plan, in no order."""
    yield from (f"p{piece.pattern}" for run in runs for piece in run.pieces)
    yield from ("inside" if edge.inside else "outside" for edge in laid.corners)
    yield from (ZONE + zone for zone in zones_in(laid, zones))
    upright = {tab.upright for run in laid.runs for tab in run.placed.tabs}
    spans = [span for run in laid.runs for span in run.layout.overlong]
    others = {
        "module": bool(laid.plane.modules),
        "area": bool(laid.plane.drawn),
        "rail": bool(laid.rails),
        "start": any(starts_shown(run) for run in runs),
        "lap": any(run.layout.laps for run in laid.runs),
        "tab": False in upright,
        "tab beside": True in upright,
        "return": any(run.layout.returns for run in laid.runs),
        "penetration": bool(laid.plane.penetrations),
        "open": any(edge.open for edge in laid.edges),
        "overlong": bool(spans),
    }
    yield from (sign for sign, occurs in others.items() if occurs)


def _piece(plans: Sequence[Signs]) -> str:
    lengths = any(plan.lengths for plan in plans)
    return "piece, with its name" + (" and the length to cut" if lengths else "")


def _lap(plans: Sequence[Signs], system: System) -> str:
    """Return what a lap is: of several plans, at least the least of them all."""
    lapped = [plan for plan in plans if plan.laps_nm]
    least = min((lap for plan in lapped for lap in plan.laps_nm), default=0)
    told = f"lap, at least {short(least, system, 'down').text}"
    if not any(plan.enlarged for plan in lapped):
        return told
    if all(plan.enlarged for plan in lapped):
        return f"{told} (drawn longer than it is)"
    return f"{told} (on some plans drawn longer than it is)"
