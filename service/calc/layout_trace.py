"""Which rules the figures of a layout follow from."""

from __future__ import annotations

from functools import lru_cache

from service.calc.trace import Step

_OUTLINE = ("values.join_gap",)
_RAILS = (*_OUTLINE, "values.rails_per_row", "values.rail_inset", "values.rail_overhang")
_RETURNS = ("values.return_leg", "values.return_tab", "values.return_reach", "values.tape_grid")
_PIECES = (
    *_RAILS,
    *_RETURNS,
    "values.piece_length",
    "values.lap",
    "values.longest_span",
    "values.least_piece",
    "values.lap_off_corner",
    "values.lap_off_tab",
    "values.lap_off_penetration",
    "values.penetration_reach",
)
_STRIP = ("values.strip_margin", "values.stocked_widths")


_LAPS = ("values.lap_rings", "values.lap_ties")
_DRIVEN: dict[str, tuple[str, ...]] = {
    "perimeter": _OUTLINE,
    "mesh_length": _OUTLINE,
    "corners": _OUTLINE,
    "arrays": _OUTLINE,
    "penetrations": _OUTLINE,
    "tabs": _RAILS,
    **dict.fromkeys(("cut_mesh", "pieces", "laps", "returns"), _PIECES),
    "lap_rings": (*_PIECES, _LAPS[0]),
    "lap_ties": (*_PIECES, _LAPS[1]),
}
COUNTED_FOLLOWS: tuple[tuple[str, str], ...] = tuple(
    (driver, rule) for driver, rules in _DRIVEN.items() for rule in rules
)
"""What a layout counts, each with a rule that it follows from."""


@lru_cache(maxsize=1)
def layout_trace() -> tuple[Step, ...]:
    """Return a step for each part of a layout, with the rules that have a say in it."""
    return (
        Step("/perimeter", _OUTLINE),
        Step("/edges", _OUTLINE),
        Step("/strip_width", _STRIP),
        Step("/tabs", _RAILS),
        Step("/pieces", _PIECES),
        Step("/laps", _PIECES),
        Step("/returns", _PIECES),
        Step("/counts", _PIECES),
        Step("/cut_plan", (*_PIECES, "bill.mesh.pack")),
        Step("/conditions", (*_PIECES, "values.hand_gap", "values.near_gap")),
    )
