"""Warnings of a layout: a rule that could not be met, or geometry that looks wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from gapwright.calc.layout.lay import LaidPlane, LaidRun
from gapwright.calc.layout.plane import InferredRails
from gapwright.calc.layout.runs import place_on
from gapwright.calc.layout.strips import Strip
from gapwright.calc.outline import NoteKind, Spot, narrow_notes, upright_boxes
from gapwright.quantity.output import RunDown, RunUp, SectionUp, Text
from gapwright.rulesets.figures import depend_on
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.values import Values

ConditionKind = (
    NoteKind
    | Literal[
        "overlong_span",
        "crowded_overlaps",
        "no_layout",
        "rails_unknown",
        "attachment_undecided",
        "rails_not_used",
        "penetration_away",
        "penetration_at_open_side",
        "unknown_side",
        "strips_meet",
        "uneven_sides",
        "no_strip",
    ]
)

TOO_NARROW: frozenset[ConditionKind] = frozenset(
    ("hole_too_narrow", "slot_too_narrow", "arrays_near")
)
"""Warnings about a size below a limit: the smallest one is the worst."""
_NAMED = 6


class Place(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A point on the roof plane: x along the eave, y up the slope."""

    x: RunDown
    """Distance along the eave."""
    y: RunDown
    """Distance up the slope."""


class WarningResult(msgspec.Struct, frozen=True, kw_only=True):
    """Something in the layout that a person must check or decide."""

    code: ConditionKind
    """The kind of warning."""
    text: Text
    """The warning as text for people."""
    plane: str
    """The name of the roof plane."""
    place: Place | None = None
    """Where it is, or null."""


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """One warning. `size_nm` is the length or width that it is about, 0 if none."""

    kind: ConditionKind
    place: Spot | None = None
    size_nm: int = 0
    name: str = ""


_TEXTS = {
    "overlong_span": "The channel runs {size} here without attachment to a rail{name}. Attach it"
    " another way, with the manufacturers' approval.",
    "crowded_overlaps": "This overlap is closer to a corner, tab, or penetration than the"
    " rules allow. No better place was found.",
    "no_layout": "No pieces fit along {name}.",
    "rails_unknown": "No rails are known{name}, so fasteners are counted by rule of thumb."
    " Give the rails' segments.",
    "rails_not_used": "Rails are given, but the channel is clipped to module frames, so no tabs or"
    " returns are placed. Check the racking.",
    "attachment_undecided": "What the channel is attached to is not decided, so no tabs, returns,"
    " or clips are placed, and no fasteners are counted.",
    "penetration_away": "A penetration here is too far from any side for a cutout.",
    "penetration_at_open_side": "The side nearest to a penetration here, {name}, is left open,"
    " so the penetration gets no cutout.",
    "unknown_side": "Unknown side {name}; its settings have no effect.",
    "strips_meet": "Two strips meet at the corner where side {name} starts. No piece continues"
    " around it; close the joint there.",
    "uneven_sides": "Sides shorter than the cut increment: {name}, the shortest {size}. Each end"
    " of such a side is a corner. If the modules are in line, give them matching coordinates.",
    "hole_too_narrow": "A hole is only {size} wide, too narrow for a hand. Decide whether to bridge"
    " it or leave it open.",
    "slot_too_narrow": "A slot is only {size} wide, too narrow for a hand. Decide whether to bridge"
    " it.",
    "arrays_near": "Two arrays are only {size} apart; one barrier around both may be enough.",
    "touching_at_corner": "Two arrays, or a hole and the exterior, touch only at a corner.",
    "overlap_within_rounding": "Modules overlap or are out of line by up to {size}, as from rounded"
    " coordinates. They are treated as touching and in line.",
}


def conditions_of(laid: LaidPlane, rules: RuleSet) -> Iterator[WarningResult]:
    """Yield the warnings of one plane."""
    for found in warnings_of(laid, rules.values):
        yield WarningResult(
            code=found.kind,
            text=condition_text(found),
            plane=laid.plane.name,
            place=place(found.place) if found.place else None,
        )


def condition_text(found: Condition) -> Text:
    """Return the text of a warning, its size rounded to the safe side."""
    size = (RunDown if found.kind in TOO_NARROW else RunUp)(found.size_nm)
    text = _TEXTS[found.kind].replace("{size}", "{0}").replace("{name}", "{1}")
    return Text(text, size, Text(found.name))


def no_strip(strips: Sequence[Strip]) -> Iterator[WarningResult]:
    """Yield a warning for each strip that is wider than every stock width."""
    for strip in strips:
        if strip.sizing.strip_nm.value is None:
            text = (
                f"No stock strip is wide enough for {strip.name}, which needs at least {{}}."
                " Its pieces are not counted in the rolls or the cut plan."
            )
            least = SectionUp(strip.sizing.required_nm.value)
            yield WarningResult(code="no_strip", text=Text(text, least), plane="")


def place(spot: Spot) -> Place:
    """Return a place on the roof plane."""
    return Place(x=RunDown(spot[0]), y=RunDown(spot[1]))


def warnings_of(laid: LaidPlane, values: Values) -> tuple[Condition, ...]:
    """Return the warnings of one plane, sizes in nm."""
    depend_on(laid.steps.outline, laid.steps.penetrations, laid.steps.runs)
    return (
        *_facts(laid),
        *_notes(laid, values),
        *_meetings(laid),
        *_uneven(laid, values),
        *(c for run in laid.runs for c in _run(run)),
    )


def _facts(laid: LaidPlane) -> Iterator[Condition]:
    """Yield warnings about unknown sides, rails, and penetrations without a cutout."""
    plane = laid.plane
    known = {placed.name for placed in laid.sides}
    for name in plane.sides:
        if name not in known:
            yield Condition(kind="unknown_side", name=name)
    attachment = plane.attachment.value
    if attachment == "rails":
        yield from _without_rails(laid)
    elif attachment == "undecided" and not laid.rails:
        yield Condition(kind="attachment_undecided")
    elif attachment == "frame_clips" and isinstance(plane.rails, Sequence) and plane.rails:
        yield Condition(kind="rails_not_used")
    at_sides = {one.number: side for side in laid.sides for one in side.penetrations}
    for number, spot in enumerate(plane.penetrations):
        side = at_sides.get(number)
        if side is None:
            yield Condition(kind="penetration_away", place=spot)
        elif side.open:
            yield Condition(kind="penetration_at_open_side", place=spot, name=side.name)


def _without_rails(laid: LaidPlane) -> Iterator[Condition]:
    """Yield a warning if no rails are known, or not under everything."""
    if not laid.rails:
        yield Condition(kind="rails_unknown")
        return
    if not isinstance(laid.plane.rails, InferredRails):
        return
    rotated = len(laid.plane.modules) > len(upright_boxes(laid.plane.modules))
    kinds = ((rotated, "rotated modules"), (laid.plane.drawn, "drawn outlines"))
    if without := " and ".join(kind for found, kind in kinds if found):
        yield Condition(kind="rails_unknown", name=f" under {without}")


def _notes(laid: LaidPlane, values: Values) -> Iterator[Condition]:
    narrow = narrow_notes(laid.outline, values.min_access_gap, values.min_array_gap)
    for note in sorted((*laid.outline.notes, *narrow)):
        box = note.place
        middle = ((box.left_nm + box.right_nm) // 2, (box.lower_nm + box.upper_nm) // 2)
        yield Condition(kind=note.kind, place=middle, size_nm=note.width_nm)


def _meetings(laid: LaidPlane) -> Iterator[Condition]:
    for side in laid.meetings:
        yield Condition(kind="strips_meet", place=side.start, name=side.name)


def _uneven(laid: LaidPlane, values: Values) -> Iterator[Condition]:
    """Yield one warning for all sides of a loop shorter than the cut increment.

    Modules that are out of line make them, and a row of such modules makes many.
    """
    for loop in laid.loops:
        short = [s for s in loop if s.length_nm < values.cut_increment and not s.open]
        if short:
            yield Condition(
                kind="uneven_sides",
                place=short[0].start,
                size_nm=min(side.length_nm for side in short),
                name=some([side.name for side in short]),
            )


def some(names: Sequence[str]) -> str:
    """Return names as a list, shortened to the first few and a count."""
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return ", ".join(names[:_NAMED]) + more


def _run(run: LaidRun) -> Iterator[Condition]:
    for span in run.layout.overlong:
        place = place_on(run.placed, span.start_nm)[1]
        # a run without any attachment is not merely too long
        name = " at all" if span.fixing_nm is None else ", more than the rules allow"
        yield Condition(kind="overlong_span", place=place, size_nm=span.length_nm, name=name)
    if not run.layout.pieces:
        yield Condition(kind="no_layout", name=some([side.name for side in run.placed.sides]))
    for overlap in run.layout.conflicts:
        place = place_on(run.placed, overlap.start_nm)[1]
        yield Condition(kind="crowded_overlaps", place=place)
