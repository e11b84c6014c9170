"""What a person must look at: numbered signs on the plan, and what each number means."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.layout.conditions import TOO_NARROW, Condition, conditions_of, some
from service.calc.layout.lay import LaidPlane
from service.drawing.bands import OVER_PX, overlong_lines
from service.drawing.lines import between, length, outward, segments, stepped
from service.drawing.room import Room, round_about
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot, group, num, words
from service.drawing.traced import TracedRun
from service.quantity.show import Safe, System, long

_MOST_SIGNS = 60
_TEXTS = {
    "overlong_span": "Overlong: the channel runs up to {size} here without being fixed to a"
    " rail{longest}. Fix it in another way, with the makers' consent.",
    "crowded_laps": "A lap here is nearer to a corner, tab or penetration than the rule asks:"
    " there was no better place.",
    "no_layout": "No pieces could be laid along {names}.",
    "rails_unknown": "No rails could be inferred{names}. Tell them, or say that there are none.",
    "penetration_away": "A penetration is too far from any edge to be cut out of the channel.",
    "penetration_at_open_edge": "A penetration is nearest to an edge that is left open, {names}:"
    " nothing is cut out for it.",
    "unknown_edge": "There is no edge {names}; what was told of it has no effect.",
    "strips_meet": "Two strips meet here, at the start of {names}: no piece runs round the corner."
    " Close the joint.",
    "uneven_edges": "Edges shorter than a mark of the tape: {names}, the shortest {size}. Each end"
    " of one is a corner; see whether these modules stand in line.",
    "hole_too_narrow": "A hole only {size} wide is too narrow for a hand. Decide whether it is"
    " closed across or left out.",
    "slot_too_narrow": "A slot only {size} wide is too narrow for a hand. Decide whether it is"
    " closed across.",
    "arrays_near": "Two arrays are only {size} apart; one barrier round both may do.",
    "touching_at_corner": "Arrays, or a hole and the outside, touch at a corner only.",
    "overlap_within_rounding": "Turned modules overlap by {size} at most, as where corners were"
    " rounded; they are taken to touch.",
}
_LEAST = {"uneven_edges", *TOO_NARROW}


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """All conditions of one kind: its number on the plan, its words, and where they are."""

    number: int
    text: str
    count: int
    places: Sequence[Dot]


def findings_of(
    laid: LaidPlane, runs: Sequence[TracedRun], sheet: Sheet, system: System
) -> list[Finding]:
    """Return what a person must look at on a plane, by kind."""
    kinds: dict[str, list[Condition]] = {}
    for condition in conditions_of(laid):
        kinds.setdefault(condition.kind, []).append(condition)
    found = []
    for number, (kind, alike) in enumerate(kinds.items(), 1):
        spots = sheet.line(one.place for one in alike if one.place)
        places = [place for place in spots if sheet.is_near(place)]
        if kind == "overlong_span":
            places = [_middle(line) for run in runs for line in overlong_lines(run, sheet)]
        text = _text(kind, alike, system)
        found.append(Finding(number=number, text=text, count=len(alike), places=places))
    return found


def draw_signs(findings: Sequence[Finding], room: Room) -> str:
    """Return a numbered sign at each place, where there is room near it."""
    signs = []
    for finding in findings:
        for place in finding.places[:_MOST_SIGNS]:
            seat = next((s for s in _seats(place) if room.is_free([round_about(s, 10)])), place)
            room.take([round_about(seat, 10)])
            signs.append(sign(seat, finding.number))
    return group("What to look at", signs)


def sign(place: Dot, number: int) -> str:
    """Return a numbered sign: a filled disc, dark enough to stand out in grey."""
    x, y = place
    disc = f'<circle class="badge" cx="{num(x)}" cy="{num(y)}" r="9"/>'
    return disc + words(str(number), (x, y + 4.3), "number b", "middle")


def _text(kind: str, alike: Sequence[Condition], system: System) -> str:
    sizes = [one.size_nm for one in alike]
    safe: Safe = "down" if kind in TOO_NARROW else "up"
    size = long(min(sizes) if kind in _LEAST else max(sizes), system, safe).text
    names = some(list(dict.fromkeys(one.name for one in alike)))
    longest = max(alike, key=lambda one: one.size_nm).name
    text = _TEXTS[kind].format(size=size, names=names, longest=longest)
    places = sum(one.place is not None for one in alike)
    return f"{text} ({places} places)" if places > 1 else text


def _middle(line: Sequence[Dot]) -> Dot:
    """Return the place of a sign for a line: outside the middle of its longest part."""
    part = max(segments(line), key=length)
    return stepped(between(part, 0.5), outward(part, 1), OVER_PX + 14)


def _seats(place: Dot) -> Iterator[Dot]:
    yield place
    x, y = place
    for away in (22.0, 36.0, 52.0):
        for dx, dy in ((0, -1), (0, 1), (1, 0), (-1, 0), (0.7, -0.7), (-0.7, -0.7)):
            yield x + dx * away, y + dy * away
