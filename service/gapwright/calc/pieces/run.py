"""What pieces are cut from: one run of channel and the rules it is cut by. All lengths in nm."""

from __future__ import annotations

import msgspec


class RunZone(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of the run with its own least overlap, and the longest span between fixings.

    A span of None sets no limit.
    """

    start_nm: int
    end_nm: int
    overlap_nm: int
    span_nm: int | None = None


class Reach(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of the run with a rail within reach, both ends included.

    `return_nm` is the mesh that a return made there uses: the diagonal and its tab.
    """

    start_nm: int
    end_nm: int
    return_nm: int


class KeepOff(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A point (corner, tab, penetration) that overlaps stay at least a distance away from.

    A distance of 0 lets an overlap begin or end at the point, but not lie over it.
    """

    at_nm: int
    distance_nm: int


class Run(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One run of channel: a closed loop around an array, or an open stretch.

    Positions are distances from the run's origin in the direction of work. `zones` follow on
    one another from 0 to `length_nm`. Where reaches overlap the shortest return counts; on a
    closed loop one may go on past the origin.

    `starts_nm` are the places where a closed run may start, in order of preference. A start
    that is one of `tabs_nm` is a tab, and the seam overlap ends before it; any other is a
    corner, and the seam overlap begins after it. Either keeps the distance that the keep-off
    points at that very place ask for. Without any the run starts at its origin.
    """

    length_nm: int
    closed: bool
    zones: tuple[RunZone, ...]
    tabs_nm: tuple[int, ...] = ()
    reaches: tuple[Reach, ...] = ()
    keep_off: tuple[KeepOff, ...] = ()
    starts_nm: tuple[int, ...] = ()


class PieceRules(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How pieces are cut.

    `piece_nm` is the most mesh in one piece, `grid_nm` the increment in which pieces are cut,
    `min_piece_length_nm` the least that a piece covers. An overlap may be anything from its minimum
    up to `most_overlap_nm`, in increments; where that is less than the minimum, the minimum only.
    `cut_weight_nm` is the mesh that a piece shorter than `piece_nm` is worth avoiding for,
    `return_weight_nm` the mesh that a return is.
    """

    piece_nm: int
    grid_nm: int
    min_piece_length_nm: int = 0
    most_overlap_nm: int = 0
    cut_weight_nm: int = 0
    return_weight_nm: int = 0
