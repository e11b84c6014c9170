"""What a layout of pieces starts from: one run of channel and the rules it is cut by."""

from __future__ import annotations

import msgspec


class Zone(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of the run with its own lap and span [nm].

    `span_nm` is the greatest distance between fixings; None sets no limit.
    """

    start_nm: int
    end_nm: int
    lap_nm: int
    span_nm: int | None = None


class Reach(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of the run with a rail within reach, both ends included.

    `return_nm` is the mesh that a return made there uses: the diagonal and its tab.
    """

    start_nm: int
    end_nm: int
    return_nm: int


class KeepOff(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A point (corner, tab, penetration) that laps keep at least a distance away from [nm].

    A distance of 0 lets a lap begin or end at the point, but not lie over it.
    """

    at_nm: int
    distance_nm: int


class Run(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One run of channel: a closed loop round an array, or an open stretch [nm].

    Positions are distances from the run's origin in the direction the work goes. `zones`
    follow on one another from 0 to `length_nm`. Where reaches overlap the shortest return
    counts; on a closed loop one may go on past the origin. `start_nm` is where the work should
    begin on a closed loop; it numbers the pieces and moves none of them.
    """

    length_nm: int
    closed: bool
    zones: tuple[Zone, ...]
    tabs_nm: tuple[int, ...] = ()
    reaches: tuple[Reach, ...] = ()
    keep_off: tuple[KeepOff, ...] = ()
    start_nm: int = 0


class PieceRules(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How pieces are cut [nm].

    `piece_nm` is the most mesh in one piece, `grid_nm` the marks of the tape on which pieces
    end, `least_piece_nm` the least that a piece covers. `either_way` also tries the work in the
    opposite direction and takes the better layout.
    """

    piece_nm: int
    grid_nm: int
    least_piece_nm: int = 0
    either_way: bool = False
