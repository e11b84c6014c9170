"""The words of the crew: the sequence of work, and what is looked at before and after.

A check names the cautions that it follows from; the sheet cites them by their numbers where the
rule set gives them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import msgspec

SEVERITIES = ("danger", "warning", "caution", "notice")

VERDICTS = {
    "suitable": "Verdict: suitable",
    "conditional": "Verdict: suitable on conditions",
    "survey": "Verdict: survey first",
}
SURVEY = "Nothing is fitted before someone competent has looked at the roof and settled each point."
FIXED = {
    "rails": "The channel is fixed to the rails",
    "frame_clips": "The channel is held by clips on the module frames",
    "undecided": "What the channel is fixed to is undecided: ask before work begins",
}
MARKS = {
    "lap_ends": "before ends",
    "tab": "tab",
    "penetration": "cut-out",
    "next_laps": "next begins",
    "return_bend": "return bend",
    "end": "CUT",
}
OUTSIDE, INSIDE = "corner out", "corner IN"
BESIDE = "tab beside"
_MARKS_KEY = (
    "The tape starts at the end that lies first, going as the arrow goes. Before ends: the piece"
    " before reaches to here. Next begins: the next piece laps from here.{tabs}"
    " Corner out, IN: an outside, an inside corner. Return bend: from here the mesh is turned in"
    " under the array. Edges stand below each piece's name."
)
_TABS_KEY = {
    "upslope": " Tab: the upslope face of the rail.",
    "beside": " Tab beside: beside a rail that runs up the slope.",
}
SIGNATURES = (
    "Conditions settled",
    "Checked before closing",
    "Crew lead, job done",
    "Customer or office",
)
FLAGS = {
    "active_nest": "an active nest",
    "animals_inside": "animals under the array",
    "bat_roost": "a bat roost",
    "poor_roof": "a roof in a poor state",
    "damaged_wiring": "damaged wiring",
    "maker_objects": "a maker who allows no added parts",
}


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """Something to look at and tick, and the cautions that ask for it."""

    text: str
    follows: tuple[str, ...] = ()


BEFORE_CLOSING = (
    Check(
        text="No animal, nest, egg or young is under the array; nothing was seen going in.",
        follows=("wildlife",),
    ),
    Check(
        text="No wire hangs down, and no mesh edge touches a wire, clip or connector.",
        follows=("dangling_wires", "wire_clips"),
    ),
    Check(
        text="Leaves, twigs, offcuts and tools are out from under the array.",
        follows=("dangling_wires",),
    ),
    Check(text="Nothing presses on the back of a module.", follows=("module_back",)),
    Check(text="Photographs of what is under the array are taken."),
)
BEFORE_LEAVING = (
    Check(text="The channel springs against frame and roof all the way round; no gap is left."),
    Check(
        text="Every lap, corner and cut-out is bound; no wire end points outward.",
        follows=("sharp_edges",),
    ),
    Check(text="Offcuts, screws and wire ends are off the roof, out of the gutter and the garden."),
    Check(text="Ways for the fire service are as clear as before.", follows=("fire_access",)),
    Check(text="What was done otherwise than this sheet says is written on it."),
)


def marks_key(sides: Collection[str]) -> str:
    """Return what the marks of the cut list mean, by the sides of their rails that tabs are on."""
    tabs = "".join(told for side, told in _TABS_KEY.items() if side in sides)
    return _MARKS_KEY.format(tabs=tabs)


def sequence(
    facts: Mapping[str, Any], counts: Mapping[str, int], estimated: bool, attachment: str
) -> Iterator[str]:
    """Yield the steps of the work in their order.

    `counts` is empty where nothing is laid out; `estimated`: some arrays are not.
    """
    drawn = bool(counts)
    yield (
        "Set ladders and fall protection. Look round and under the array; stop if anything is"
        " other than this sheet says."
    )
    yield "Measure the clearance at several places, and compare it with the channel on this sheet."
    if drawn:
        yield (
            "Cut the pieces roll by roll as the cut plan says, and write its name on each. Mark"
            " the bend lines along it and the tape marks across it."
        )
    if estimated:
        where = " of the arrays that are not drawn" if drawn else ""
        yield f"Measure each edge{where}, cut the strip to pieces, and mark bend lines along it."
    if facts.get("painted") == "spray":
        yield "Touch up bare metal with the spray can on the ground, never beside the array."
    tool = "on the bending brake" if facts.get("bending") == "brake" else "by hand, over a board"
    yield f"Bend the channel {tool}, to the turn shown."
    yield from _fitting(drawn, attachment)
    bound = "cable ties" if facts.get("joining") == "ties" else "rings"
    yield f"Lap each piece over the one before, and bind every lap with {bound}."
    yield "Cut and close the corners, and turn wire ends inward."
    if counts.get("penetrations") or estimated:
        yield "Cut the channel out round pipes and conduits, and bind the cut."
    if counts.get("returns"):
        yield "Turn the returns in under the array, and brace each to its rail."
    yield "Leave the last piece open until all checks before closing are ticked, then close it."


def _fitting(drawn: bool, attachment: str) -> Iterator[str]:
    start = "Begin each run at its arrow and set the pieces in turn" if drawn else "Set the pieces"
    if attachment == "rails":
        yield f"{start}; cut a tab where the channel passes a rail, and screw it to the rail."
    elif attachment == "frame_clips":
        yield f"{start}; hold the channel with clips on the frames. Drill no frame."
    else:
        yield f"{start}, fixed in the way that was settled before work began."
