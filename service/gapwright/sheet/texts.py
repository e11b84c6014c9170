"""Fixed texts of the crew sheet: mark names, checks, and the sequence of work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

SEVERITIES = ("danger", "warning", "caution", "notice")
MARKS = {
    "overlap_ends": "overlap ends",
    "tab": "tab",
    "clip": "clip",
    "penetration": "cutout",
    "next_overlaps": "next piece starts",
    "return_bend": "return bend",
    "end": "CUT",
}
OUTSIDE_CORNER, INSIDE_CORNER = "outside corner", "INSIDE CORNER"
TAB_BESIDE = "tab, side of rail"

Checks = Sequence[tuple[str, Sequence[str]]]
# each check with the ids of the cautions that call for it; the sheet cites them by number
BEFORE_CLOSING = (
    (
        "No animals, nests, eggs, or young are under the array, and none were seen going in.",
        ("wildlife",),
    ),
    (
        "No wires hang down, and no mesh edge touches a wire, clip, or connector.",
        ("dangling_wires", "wire_clips"),
    ),
    ("Leaves, twigs, scraps, and tools are cleared out from under the array.", ("dangling_wires",)),
    ("Nothing presses on the back of a module.", ("module_back",)),
    ("Photos of the area under the array are taken.", ()),
)
BEFORE_LEAVING = (
    ("The channel is snug against frame and roof all the way around, with no gaps.", ()),
    (
        "Every overlap, corner, and cutout is fastened, and no wire ends point outward.",
        ("sharp_edges",),
    ),
    ("Scraps, screws, and wire ends are off the roof and out of the gutters and yard.", ()),
    ("Fire access pathways are clear.", ("fire_access",)),
    ("Every change is noted on this sheet.", ()),
)


def sequence_of_work(
    facts: Mapping[str, Any], counts: Mapping[str, int], estimated: bool, attachment: str
) -> Iterator[str]:
    """Yield the steps of the job in order.

    `counts` are the layout's, empty if there is none. `estimated` means that some arrays are not
    drawn.
    """
    drawn = bool(counts)
    yield (
        "Set up ladders and fall protection. Inspect around and under the array. Stop if anything"
        " differs from this sheet."
    )
    yield "Measure the clearance in several places and compare it with the channel on this sheet."
    if drawn:
        yield (
            "Cut the pieces roll by roll, following the cut plan, and label each piece. Mark the"
            " bend lines along it and the tape marks across it."
        )
    if estimated:
        where = " of the arrays that are not drawn" if drawn else ""
        yield f"Measure each side{where}, cut the strip into pieces, and mark the bend lines."
    if facts.get("finish") == "spray":
        yield "Touch up bare metal with spray paint on the ground, never near the array."
    tool = "on the bending brake" if facts.get("bending") == "brake" else "by hand over a board"
    yield f"Bend the channel {tool} to the angle shown."
    start = "Start each run at its arrow and set the pieces in order" if drawn else "Set the pieces"
    yield {
        "rails": f"{start}. Cut a tab where the channel crosses a rail, and screw it to the rail.",
        "frame_clips": f"{start}. Clip the channel to the module frames. Never drill a frame.",
    }.get(attachment, f"{start}. Attach them as agreed before work began.")
    binding = "cable ties" if facts.get("joining") == "ties" else "rings"
    yield f"Overlap each piece onto the previous one, and fasten every overlap with {binding}."
    yield "Cut and close the corners, and bend wire ends inward."
    if counts.get("penetrations") or estimated:
        yield "Cut the channel to fit around pipes and conduits, and fasten the cut."
    if counts.get("returns"):
        yield "Bend the returns in under the array, and brace each one against its rail."
    yield (
        "Leave the last piece open until every item under Before closing is checked. Then close it."
    )
