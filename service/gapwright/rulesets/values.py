"""The values that the calculation reads from a rule set.

This struct is the only list of them, with the kind, the limits, and the stricter direction of each
name. Every `values` entry of a rule file is checked against it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal, get_type_hints

import msgspec

from gapwright.quantity.show import NM_PER_IN
from gapwright.rulesets.measure import Bound, Measure, QuantityKind


class Value(Measure, frozen=True, kw_only=True):
    """The kind and limits of a value, and how it is used.

    `stricter` is the direction in which it becomes stricter. `layout` means that only layouts use
    it. `zoned` means that it applies per side, so that a zone can change it. `on_tape` means that
    it is rounded to `cut_increment`, or compared with lengths that are.
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

    mesh_margin: Annotated[int, _value("length", "0 in", "24 in", stricter="more")]
    stock_widths: Annotated[tuple[int, ...], _value("lengths", "1 in", "10 ft")]
    common_widths: Annotated[tuple[int, ...], _value("lengths", "1 in", "10 ft")]
    web_reduction: Annotated[int, _value("length", "0 in", "12 in")]
    min_web: Annotated[int, _value("length", "0 in", "24 in", stricter="more")]
    min_bend_angle: Annotated[float, _value("angle", "0.1 deg", "90 deg", stricter="more")]
    max_bend_angle: Annotated[float, _value("angle", "0.1 deg", "90 deg", stricter="less")]
    bend_angle_step: Annotated[float, _value("angle", "0.1 deg", "90 deg")]
    mesh_opening: Annotated[int, _value("length", "1/16 in", "4 in", stricter="less")]
    snap_bends_to_wires: Annotated[bool, _value("flag")]
    tight_spot_drop: Annotated[int, _value("length", "0 in", "36 in", stricter="more")]
    tight_spot_share: Annotated[Fraction, _value("share", "0 %", "100 %", stricter="less")]
    waste_factor: Annotated[Fraction, _value("share", "0 %", "300 %", stricter="more", zoned=True)]
    default_corners: Annotated[int, _value("count", 0, 1000)]
    default_clearance: Annotated[int, _value("length", "1/8 in", "36 in")]
    piece_length: Annotated[int, _laid("1 ft", "200 ft", on_tape=True)]
    overlap_length: Annotated[
        int, _laid("0 in", "20 ft", stricter="more", zoned=True, on_tape=True)
    ]
    rings_per_overlap: Annotated[int, _laid(0, 1000, kind="count", stricter="more", zoned=True)]
    ties_per_overlap: Annotated[int, _laid(0, 1000, kind="count", stricter="more", zoned=True)]
    return_spacing: Annotated[
        int, _laid("1 in", "1000 ft", stricter="less", zoned=True, on_tape=True)
    ]
    max_module_gap: Annotated[int, _laid("0 in", "10 ft")]
    min_access_gap: Annotated[int, _laid("0 in", "10 ft")]
    min_array_gap: Annotated[int, _laid("0 in", "100 ft")]
    rails_per_row: Annotated[int, _laid(0, 8, kind="count")]
    rail_inset: Annotated[Fraction, _laid("0 %", "50 %", kind="share")]
    rail_overhang: Annotated[int, _laid("0 in", "10 ft")]
    cut_increment: Annotated[int, _laid("1/64 in", "12 in")]
    min_piece_length: Annotated[int, _laid("0 in", "200 ft", on_tape=True)]
    overlap_setback_corner: Annotated[int, _laid("0 in", "10 ft", stricter="more", on_tape=True)]
    overlap_setback_tab: Annotated[int, _laid("0 in", "10 ft", stricter="more", on_tape=True)]
    overlap_setback_penetration: Annotated[
        int, _laid("0 in", "10 ft", stricter="more", on_tape=True)
    ]
    penetration_distance: Annotated[int, _laid("0 in", "10 ft")]
    return_run: Annotated[int, _laid("0 in", "10 ft", on_tape=True)]
    return_tab_length: Annotated[int, _laid("0 in", "10 ft", on_tape=True)]
    max_return_reach: Annotated[int, _laid("0 in", "100 ft")]
    cut_weight: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0
    return_weight: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0
    clip_spacing: Annotated[int, _laid("1 in", "20 ft", stricter="less")] = 18 * NM_PER_IN
    clip_setback: Annotated[int, _laid("0 in", "10 ft", stricter="less")] = 6 * NM_PER_IN
    clip_clearance: Annotated[int, _laid("0 in", "10 ft", stricter="more")] = 3 * NM_PER_IN
    max_overlap_length: Annotated[int, _laid("0 in", "20 ft", on_tape=True)] = 0


VALUES: dict[str, Value] = {
    name: hint.__metadata__[0] for name, hint in get_type_hints(Values, include_extras=True).items()
}
"""The values by name."""

REQUIRED = tuple(field.encode_name for field in msgspec.structs.fields(Values) if field.required)
"""Values that every rule set must have; the others have a default."""

STRICTER: dict[str, str] = {name: one.stricter for name, one in VALUES.items() if one.stricter}
"""The direction in which each value becomes stricter, for those that have one."""

LAID_OUT = frozenset(name for name, one in VALUES.items() if one.layout)
"""Values that only layouts use."""

ZONED = tuple(name for name, one in VALUES.items() if one.zoned)
"""Values that a zone can change."""
