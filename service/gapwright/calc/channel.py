"""The section of the channel: web, flanges, bend lines, and the height it springs open to.

Sharp bends and equal flanges are taken; the mesh is thin against its flanges, so that the arc of a
bend is left out. The angle of a bend is measured from the flat strip: 90 degrees folds a square C.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians
from typing import Literal

import msgspec

from gapwright.quantity.output import SectionDown, SectionUp
from gapwright.quantity.show import MARKS_NM, decimal
from gapwright.quantity.whole import whole
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.values import Values


class BendAngle(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The recommended angle of each bend, in degrees from the flat strip."""

    min: float
    """The smallest angle, in degrees."""
    max: float
    """The largest angle, in degrees."""


class FreeHeight(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The height that the channel springs open to at the smallest and the largest angle."""

    min: SectionDown
    """The height at the smallest angle."""
    max: SectionDown
    """The height at the largest angle."""


class Profile(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The channel's section; bend lines are measured from one edge of the flat strip.

    `fit` is snug where the channel springs higher than the largest clearance within the
    recommended angles. If it is loose, both angles are the smallest one.
    """

    web: SectionDown
    """Height of the upright part of the channel."""
    flange: SectionUp
    """Width of each of the two bent parts."""
    bend_lines: tuple[SectionUp, SectionDown]
    """The two bend lines, from one edge of the flat strip."""
    bend_angle: BendAngle
    """The recommended angle of each bend."""
    free_height: FreeHeight
    """The height that the channel springs open to."""
    fit: Literal["snug", "loose"]
    """`snug`: the channel springs higher than the largest clearance."""

    @property
    def snug(self) -> bool:
        """Return whether the free height exceeds the largest clearance."""
        return self.fit == "snug"


def free_height_nm(web_nm: int, flange_nm: int, turn_deg: float) -> int:
    """Return the height that a channel springs open to [nm].

    `turn_deg` is measured from the flat strip: 90 folds a square C.
    Limits: sharp bends, equal flanges.
    Source: plane geometry; checked in tests/outside/handbooks.
    """
    return web_nm + round(2 * flange_nm * cos(radians(turn_deg)))


def can_be_bent(strip_nm: int, tightest_nm: int, rules: RuleSet) -> bool:
    """Return whether the gap leaves room for a web, be the channel snug or not."""
    flange = _flange_nm(strip_nm, tightest_nm, rules.values)
    return bool(strip_nm - 2 * flange >= rules.values.min_web)


def is_snug(strip_nm: int, tightest_nm: int, largest_nm: int, rules: RuleSet) -> bool:
    """Return whether a channel can be bent whose free height exceeds the largest reading.

    A smaller angle gives a greater free height, so the smallest one decides.
    """
    flange = _flange_nm(strip_nm, tightest_nm, rules.values)
    springs = _springs_over(strip_nm, flange, rules.values.min_bend_angle, largest_nm, rules)
    return springs and can_be_bent(strip_nm, tightest_nm, rules)


def bend(strip_nm: int, tightest_nm: int, largest_nm: int, rules: RuleSet) -> Profile | None:
    """Return the channel bent from a strip, or None if the gap is too low for a web.

    The web follows the smallest reading, the fit the largest one.
    """
    if not can_be_bent(strip_nm, tightest_nm, rules):
        return None
    flange = _flange_nm(strip_nm, tightest_nm, rules.values)
    web = strip_nm - 2 * flange
    snug = is_snug(strip_nm, tightest_nm, largest_nm, rules)
    least = to = rules.values.min_bend_angle
    if snug:
        to = next(
            angle
            for angle in _angles(rules.values)
            if _springs_over(strip_nm, flange, angle, largest_nm, rules)
        )
    return Profile(
        web=SectionDown(web),
        flange=SectionUp(flange),
        bend_lines=(SectionUp(flange), SectionDown(strip_nm - flange)),
        bend_angle=BendAngle(min=decimal(least), max=decimal(to)),
        free_height=FreeHeight(
            min=SectionDown(free_height_nm(web, flange, least)),
            max=SectionDown(free_height_nm(web, flange, to)),
        ),
        fit="snug" if snug else "loose",
    )


def _flange_nm(strip_nm: int, tightest_nm: int, values: Values) -> int:
    """Return the flange, rounded up so that the web is never wider than asked for [nm]."""
    flange = whole(strip_nm - (tightest_nm - values.web_reduction), 2)
    if values.snap_bends_to_wires:
        flange = whole(flange, values.mesh_opening) * values.mesh_opening
    return flange


def _springs_over(
    strip_nm: int, flange_nm: int, angle: float, largest_nm: int, rules: RuleSet
) -> bool:
    """Return whether the free height exceeds a clearance, also when bent on tape marks.

    The marks are those of a tape in the rule set's own units.
    """
    mark = MARKS_NM[rules.units]
    low = whole(flange_nm, mark) * mark
    high = (strip_nm - flange_nm) // mark * mark
    by_tape = high - low + round((low + strip_nm - high) * cos(radians(angle)))
    exact = free_height_nm(strip_nm - 2 * flange_nm, flange_nm, angle)
    return min(exact, by_tape) > largest_nm


def _angles(values: Values) -> Iterator[float]:
    """Yield the angles from the greatest down in whole steps, and the least at the end.

    An angle that cannot be read on a protractor is of no use on a roof.
    """
    least, greatest = values.min_bend_angle, values.max_bend_angle
    if greatest > least:
        yield greatest
        steps = int((greatest - least) / values.bend_angle_step)
        yield from (greatest - number * values.bend_angle_step for number in range(1, steps + 1))
    yield least
