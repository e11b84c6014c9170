"""What the crew reads that no job changes: words, checks, and the sequence of work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

SEVERITIES = ("danger", "warning", "caution", "notice")
MARKS = {
    "overlap_ends": "before ends",
    "tab": "tab",
    "penetration": "cut-out",
    "next_overlaps": "next begins",
    "return_bend": "return bend",
    "end": "CUT",
}
OUTSIDE_CORNER, INSIDE_CORNER = "corner out", "corner IN"
TAB_BESIDE = "tab beside"

Checks = Sequence[tuple[str, Sequence[str]]]
# each check with the ids of the cautions that ask for it; the sheet cites them by number
BEFORE_CLOSING = (
    (
        "No animal, nest, egg or young is under the array; nothing was seen going in.",
        ("wildlife",),
    ),
    (
        "No wire hangs down, and no mesh edge touches a wire, clip or connector.",
        ("dangling_wires", "wire_clips"),
    ),
    ("Leaves, twigs, offcuts and tools are out from under the array.", ("dangling_wires",)),
    ("Nothing presses on the back of a module.", ("module_back",)),
    ("Photographs of what is under the array are taken.", ()),
)
BEFORE_LEAVING = (
    ("The channel springs against frame and roof all the way round; no gap is left.", ()),
    ("Every lap, corner and cut-out is bound; no wire end points outward.", ("sharp_sides",)),
    ("Offcuts, screws and wire ends are off the roof, out of the gutter and the garden.", ()),
    ("Ways for the fire service are as clear as before.", ("fire_access",)),
    ("What was done otherwise than this sheet says is written on it.", ()),
)


def sequence_of_work(
    facts: Mapping[str, Any], counts: Mapping[str, int], estimated: bool, attachment: str
) -> Iterator[str]:
    """Yield the steps of the work in order.

    `counts` are of the layout, empty without one; `estimated`: some arrays are not drawn.
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
    if facts.get("finish") == "spray":
        yield "Touch up bare metal with the spray can on the ground, never beside the array."
    tool = "on the bending brake" if facts.get("bending") == "brake" else "by hand, over a board"
    yield f"Bend the channel {tool}, to the turn shown."
    start = "Begin each run at its arrow and set the pieces in turn" if drawn else "Set the pieces"
    yield {
        "rails": f"{start}; cut a tab where the channel passes a rail, and screw it to the rail.",
        "frame_clips": f"{start}; hold the channel with clips on the frames. Drill no frame.",
    }.get(attachment, f"{start}, fixed in the way that was settled before work began.")
    binding = "cable ties" if facts.get("joining") == "ties" else "rings"
    yield f"Lap each piece over the one before, and bind every lap with {binding}."
    yield "Cut and close the corners, and turn wire ends inward."
    if counts.get("penetrations") or estimated:
        yield "Cut the channel out round pipes and conduits, and bind the cut."
    if counts.get("returns"):
        yield "Turn the returns in under the array, and brace each to its rail."
    yield "Leave the last piece open until all checks before closing are ticked, then close it."
