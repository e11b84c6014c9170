"""Texts of a drawing: titles, counts, strips, and a description for screen readers."""

from __future__ import annotations

from collections.abc import Sequence

from gapwright.calc.layout.lay import LaidPlane
from gapwright.calc.layout.strips import Strip
from gapwright.calc.layout.warnings import some
from gapwright.calc.sizing import Sizing
from gapwright.quantity.show import System, long, short
from gapwright.rulesets.ruleset import RuleSet

_MAX_SIDES_READ = 16
_SIDES = {"eave": "eave", "ridge": "ridge", "left": "left side", "right": "right side"}


def plane_title(laid: LaidPlane, number: int = 0) -> str:
    """Return the title of a plane. `number` is its position among several, 0 if it is alone."""
    if laid.plane.name:
        return f"roof plane {laid.plane.name}"
    return f"roof plane {number}" if number else "roof plane"


def capitalized(text: str) -> str:
    """Return text with its first letter in upper case, the others as they are."""
    return text[0].upper() + text[1:]


def plane_counts(laid: LaidPlane, system: System) -> list[str]:
    """Return how many modules, pieces and so on a plane has, each as text."""
    runs = laid.runs
    counts = (
        (len(laid.plane.modules), "module"),
        (sum(len(run.pieces) for run in runs), "piece"),
        (sum(len(run.layout.overlaps) for run in runs), "overlap"),
        (len(laid.corners), "corner"),
        (sum(len(run.placed.run.tabs_nm) for run in runs), "tab"),
        (sum(len(run.layout.returns) for run in runs), "return"),
        (sum(len(run.placed.penetrations_nm) for run in runs), "penetration"),
    )
    parts = [f"{count} {noun}{'' if count == 1 else 's'}" for count, noun in counts if count]
    if not runs:
        return [*parts, "no channel"]
    perimeter = long(sum(run.placed.run.length_nm for run in runs), system, "up").text
    return [*parts, f"{perimeter} of channel"]


def strip_text(sizing: Sizing, system: System) -> str:
    """Return the text for a strip and its channel, or why there is none."""
    if sizing.strip_nm.value is None:
        least = short(sizing.required_nm.value, system, "up").text
        return f"No stock strip is wide enough; {least} or more is needed"
    strip = f"Strip {short(sizing.strip_nm.value, system, 'down').text} wide"
    profile = sizing.profile.value
    if profile is None:
        return f"{strip}; the gap is too low for a channel"
    web = short(profile.web.nm, system, "down").text
    flange = short(profile.flange.nm, system, "up").text
    return f"{strip}, bent to a web of {web} and two flanges of {flange}"


def strip_texts(strips: Sequence[Strip], planes: Sequence[LaidPlane], system: System) -> list[str]:
    """Return the text of each strip, with its name and sides if there are several."""
    if len(strips) == 1:
        return [strip_text(strips[0].sizing, system)]
    return [
        f"{strip.name}: {strip_text(strip.sizing, system)}; {_sides_of(strip, planes)}"
        for strip in strips
    ]


def _sides_of(strip: Strip, planes: Sequence[LaidPlane]) -> str:
    names = [
        f"{side.name} ({laid.plane.name})" if len(planes) > 1 else side.name
        for laid in planes
        for side in laid.sides
        if side.strip == strip.name
    ]
    return f"{'side' if len(names) == 1 else 'sides'} {some(names)}"


def describe_drawing(
    planes: Sequence[LaidPlane],
    titles: Sequence[str],
    strips: Sequence[str],
    rules: RuleSet,
    system: System,
) -> str:
    """Return a text description of a drawing for people who cannot see it."""
    parts = [
        f"Scale plan of a wire-mesh barrier around a rooftop solar array, by {rules.name}.",
        *(f"{strip}." for strip in strips),
    ]
    for title, laid in zip(titles, planes, strict=True):
        parts.append(f"{capitalized(title)}: {', '.join(plane_counts(laid, system))}.")
        # a longer list is too long to listen to
        if 0 < len(laid.sides) <= _MAX_SIDES_READ:
            parts.append(_describe_sides(laid, system))
    return " ".join(parts)


def _describe_sides(laid: LaidPlane, system: System) -> str:
    sides = [
        f"{side.name} faces the {_SIDES[side.facing]},"
        f" {long(side.length_nm, system, 'up').text}{', left open' if side.open else ''}"
        for side in laid.sides
    ]
    return f"Sides: {'; '.join(sides)}."
