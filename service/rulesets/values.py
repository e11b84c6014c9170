"""The values that the calculation takes from a rule set, and what it takes each of them for.

This struct is the one list of them: the reader checks every `values` entry of a rule file against
it, so a lap in pounds or a misspelt name is refused when the file is loaded.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Annotated, get_type_hints

import msgspec

LengthValue = Annotated[int, "length"]
"""Nanometres; written as text with a unit, such as `2 in`."""
LengthsValue = Annotated[tuple[int, ...], "lengths"]
"""Nanometres, ascending; written as a list of texts."""
ShareValue = Annotated[Fraction, "share"]
"""A part of the whole; written with its sign, such as `20 %`."""
AngleValue = Annotated[float, "angle"]
"""Degrees; written with the unit, such as `70 deg`."""
CountValue = Annotated[int, "count"]
"""A whole number."""
FlagValue = Annotated[bool, "flag"]
"""true or false."""


class Values(msgspec.Struct, frozen=True, kw_only=True, cache_hash=True):
    """Every value of a rule set, ready to calculate with."""

    strip_margin: LengthValue
    stocked_widths: LengthsValue
    common_widths: LengthsValue
    web_allowance: LengthValue
    least_web: LengthValue
    turn_from: AngleValue
    turn_to: AngleValue
    turn_step: AngleValue
    mesh_opening: LengthValue
    snap_bends_to_wires: FlagValue
    tight_spot_drop: LengthValue
    tight_spot_share: ShareValue
    mesh_allowance: ShareValue
    usual_corners: CountValue
    usual_clearance: LengthValue
    piece_length: LengthValue
    lap: LengthValue
    lap_rings: CountValue
    lap_ties: CountValue
    longest_span: LengthValue
    join_gap: LengthValue
    hand_gap: LengthValue
    near_gap: LengthValue
    rails_per_row: CountValue
    rail_inset: ShareValue
    rail_overhang: LengthValue
    tape_grid: LengthValue
    least_piece: LengthValue
    lap_off_corner: LengthValue
    lap_off_tab: LengthValue
    lap_off_penetration: LengthValue
    penetration_reach: LengthValue
    return_leg: LengthValue
    return_tab: LengthValue
    return_reach: LengthValue
    cut_weight: LengthValue = 0
    """The mesh that a piece not of standard length costs as much as; 0 where a version is silent,
    as all before it was a rule."""
    return_weight: LengthValue = 0
    """The mesh that a return costs as much as, beyond its own."""
    max_overlap_length: LengthValue = 0
    """The longest overlap; below the least one, no overlap is longer than it need be."""


OPTIONAL = frozenset(("cut_weight", "return_weight", "max_overlap_length"))
"""Values that a rule file may leave out."""

STRICTER: dict[str, str] = {
    "strip_margin": "more",
    "least_web": "more",
    "turn_from": "more",
    "turn_to": "less",
    "mesh_opening": "less",
    "tight_spot_drop": "more",
    "tight_spot_share": "less",
    "mesh_allowance": "more",
    "lap": "more",
    "lap_rings": "more",
    "lap_ties": "more",
    "longest_span": "less",
    "lap_off_corner": "more",
    "lap_off_tab": "more",
    "lap_off_penetration": "more",
}
"""Which way a value moves when it becomes stricter; values not listed have no such way."""


LAID_OUT = frozenset(
    (
        "piece_length",
        "lap",
        "lap_rings",
        "lap_ties",
        "longest_span",
        "join_gap",
        "hand_gap",
        "near_gap",
        "rails_per_row",
        "rail_inset",
        "rail_overhang",
        "tape_grid",
        "least_piece",
        "lap_off_corner",
        "lap_off_tab",
        "lap_off_penetration",
        "penetration_reach",
        "return_leg",
        "return_tab",
        "return_reach",
        "cut_weight",
        "return_weight",
        "max_overlap_length",
    )
)
"""Values that nothing but the layout of an array takes."""

ZONED = ("mesh_allowance", "lap", "lap_rings", "lap_ties", "longest_span")
"""Values that are taken edge by edge, so that a zone can say otherwise."""


@lru_cache(maxsize=1)
def kinds() -> dict[str, str]:
    """Return each value's name and kind: length, lengths, share, angle, count or flag."""
    hints = get_type_hints(Values, include_extras=True)
    return {name: hint.__metadata__[0] for name, hint in hints.items()}
