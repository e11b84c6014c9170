"""The section of the channel: web, flanges, bend lines, and the height it springs open to.

Sharp bends and equal flanges are taken; the mesh is thin against its flanges, so that the arc of a
bend is left out. The turn of a bend is measured from the flat strip: 90 degrees folds a square C.
"""

from __future__ import annotations

from functools import lru_cache
from math import cos, radians

import msgspec

from service.quantity.whole import whole
from service.rulesets.values import Values


class Channel(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A strip with its bends [nm, degrees].

    The recommended turns run from `turn_from` to `turn_to`; `snug` tells whether the channel
    springs higher than the largest clearance there. Where it is loose, both are the least turn.
    """

    web_nm: int
    flange_nm: int
    bend_lines_nm: tuple[int, int]
    turn_from: float
    turn_to: float
    free_from_nm: int
    free_to_nm: int
    snug: bool


def free_height_nm(web_nm: int, flange_nm: int, turn_deg: float) -> int:
    """Return the height that a channel springs open to [nm].

    `turn_deg` is measured from the flat strip: 90 folds a square C.
    Limits: sharp bends, equal flanges.
    Source: plane geometry; checked in tests/outside/handbooks.
    """
    return web_nm + round(2 * flange_nm * cos(radians(turn_deg)))


@lru_cache(maxsize=8192)
def bend(
    strip_nm: int, tightest_nm: int, largest_nm: int, values: Values, mark_nm: int = 1
) -> Channel | None:
    """Return the channel bent from a strip, or None where the gap is too low for a web.

    The web follows the tightest reading, the spring the largest one.
    """
    flange = _flange_nm(strip_nm, tightest_nm - values.web_allowance, values)
    web = strip_nm - 2 * flange
    if web < values.least_web:
        return None
    greatest = _greatest_snug_turn(strip_nm, flange, mark_nm, largest_nm, values)
    to = values.turn_from if greatest is None else greatest
    return Channel(
        web_nm=web,
        flange_nm=flange,
        bend_lines_nm=(flange, strip_nm - flange),
        turn_from=values.turn_from,
        turn_to=to,
        free_from_nm=free_height_nm(web, flange, values.turn_from),
        free_to_nm=free_height_nm(web, flange, to),
        snug=greatest is not None,
    )


def _flange_nm(strip_nm: int, web_nm: int, values: Values) -> int:
    """Return the flange, rounded up so that the web is never wider than asked for [nm]."""
    flange = whole(strip_nm - web_nm, 2)
    if values.snap_bends_to_wires:
        flange = whole(flange, values.mesh_opening) * values.mesh_opening
    return flange


def _greatest_snug_turn(
    strip_nm: int, flange_nm: int, mark_nm: int, largest_nm: int, values: Values
) -> float | None:
    """Return the greatest turn at which the channel is taller than the clearance.

    It is sought in whole steps down from the rule's greatest: a turn that cannot be read on a
    protractor is of no use on a roof.
    """
    low = whole(flange_nm, mark_nm) * mark_nm
    high = (strip_nm - flange_nm) // mark_nm * mark_nm
    marked = low + strip_nm - high
    for turn in _turns(values.turn_from, values.turn_to, values.turn_step):
        exact = free_height_nm(strip_nm - 2 * flange_nm, flange_nm, turn)
        by_tape = high - low + round(marked * cos(radians(turn)))
        if min(exact, by_tape) > largest_nm:
            return turn
    return None


@lru_cache(maxsize=64)
def _turns(least: float, greatest: float, step: float) -> tuple[float, ...]:
    """Return the turns from the greatest down, a step apart, and the least at the end."""
    stepped = tuple(greatest - n * step for n in range(int((greatest - least) / step) + 1))
    return stepped if stepped[-1] == least else (*stepped, least)
