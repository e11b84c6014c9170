"""The values that the calculation takes from a rule set, and what it takes each of them for.

This struct is the one list of them: kind, bounds, and which way is stricter are written beside each
name, and the reader checks every `values` entry of a rule file against it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal, get_type_hints

import msgspec

from gapwright.rulesets.measure import Bound, Measure, QuantityKind


class Value(Measure, frozen=True, kw_only=True):
    """What a value is: its kind and bounds, and what moves it, or is moved by it.

    `stricter` says which way it moves when it becomes stricter; `layout` that nothing but the
    layout of an array takes it; `zoned` that it is taken edge by edge, so that a zone can say
    otherwise; `on_tape` that it is rounded to the marks of the tape, `tape_grid`, or weighed
    against lengths that are.
    """

    stricter: Literal["more", "less", ""] = ""
    layout: bool = False
    zoned: bool = False
    on_tape: bool = False


def _value(
    kind: QuantityKind, least: Bound = None, most: Bound = None, **more: bool | str
) -> Value:
    return Value(kind, least, most, **more)  # type: ignore[arg-type]


def _laid(least: Bound, most: Bound, *, kind: QuantityKind = "length", **more: bool | str) -> Value:
    return Value(kind, least, most, layout=True, **more)  # type: ignore[arg-type]


class Values(msgspec.Struct, frozen=True, kw_only=True, cache_hash=True):
    """Every value of a rule set: lengths in nm (lists ascending), shares, degrees, counts."""

    strip_margin: Annotated[int, _value("length", "0 in", "24 in", stricter="more")]
    stocked_widths: Annotated[tuple[int, ...], _value("lengths", "1 in", "10 ft")]
    common_widths: Annotated[tuple[int, ...], _value("lengths", "1 in", "10 ft")]
    web_allowance: Annotated[int, _value("length", "0 in", "12 in")]
    least_web: Annotated[int, _value("length", "0 in", "24 in", stricter="more")]
    turn_from: Annotated[float, _value("angle", "0.1 deg", "90 deg", stricter="more")]
    turn_to: Annotated[float, _value("angle", "0.1 deg", "90 deg", stricter="less")]
    turn_step: Annotated[float, _value("angle", "0.1 deg", "90 deg")]
    mesh_opening: Annotated[int, _value("length", "1/16 in", "4 in", stricter="less")]
    snap_bends_to_wires: Annotated[bool, _value("flag")]
    tight_spot_drop: Annotated[int, _value("length", "0 in", "36 in", stricter="more")]
    tight_spot_share: Annotated[Fraction, _value("share", "0 %", "100 %", stricter="less")]
    mesh_allowance: Annotated[
        Fraction, _value("share", "0 %", "300 %", stricter="more", zoned=True)
    ]
    usual_corners: Annotated[int, _value("count", 0, 1000)]
    usual_clearance: Annotated[int, _value("length", "1/8 in", "36 in")]
    piece_length: Annotated[int, _laid("1 ft", "200 ft", on_tape=True)]
    lap: Annotated[int, _laid("0 in", "20 ft", stricter="more", zoned=True, on_tape=True)]
    lap_rings: Annotated[int, _laid(0, 1000, kind="count", stricter="more", zoned=True)]
    lap_ties: Annotated[int, _laid(0, 1000, kind="count", stricter="more", zoned=True)]
    longest_span: Annotated[
        int, _laid("1 in", "1000 ft", stricter="less", zoned=True, on_tape=True)
    ]
    join_gap: Annotated[int, _laid("0 in", "10 ft")]
    hand_gap: Annotated[int, _laid("0 in", "10 ft")]
    near_gap: Annotated[int, _laid("0 in", "100 ft")]
    rails_per_row: Annotated[int, _laid(0, 8, kind="count")]
    rail_inset: Annotated[Fraction, _laid("0 %", "50 %", kind="share")]
    rail_overhang: Annotated[int, _laid("0 in", "10 ft")]
    tape_grid: Annotated[int, _laid("1/64 in", "12 in")]
    least_piece: Annotated[int, _laid("0 in", "200 ft", on_tape=True)]
    lap_off_corner: Annotated[int, _laid("0 in", "10 ft", stricter="more", on_tape=True)]
    lap_off_tab: Annotated[int, _laid("0 in", "10 ft", stricter="more", on_tape=True)]
    lap_off_penetration: Annotated[int, _laid("0 in", "10 ft", stricter="more", on_tape=True)]
    penetration_reach: Annotated[int, _laid("0 in", "10 ft")]
    return_leg: Annotated[int, _laid("0 in", "10 ft", on_tape=True)]
    return_tab: Annotated[int, _laid("0 in", "10 ft", on_tape=True)]
    return_reach: Annotated[int, _laid("0 in", "100 ft")]
    cut_weight: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0
    return_weight: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0
    max_overlap_length: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0


VALUES: dict[str, Value] = {
    name: hint.__metadata__[0] for name, hint in get_type_hints(Values, include_extras=True).items()
}
"""What each value is, by name."""

REQUIRED = tuple(field.encode_name for field in msgspec.structs.fields(Values) if field.required)
"""Values that every rule set states; the others have a default."""

STRICTER: dict[str, str] = {name: one.stricter for name, one in VALUES.items() if one.stricter}
"""Which way a value moves when it becomes stricter; values not listed have no such way."""

LAID_OUT = frozenset(name for name, one in VALUES.items() if one.layout)
"""Values that nothing but the layout of an array takes."""

ZONED = tuple(name for name, one in VALUES.items() if one.zoned)
"""Values that a zone can change."""
