"""What a layout of pieces says: pieces, laps and returns, and every rule it could not keep."""

from __future__ import annotations

import msgspec


class Piece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of channel, from where it begins to where it ends as the work goes [nm].

    `lap_nm` is its lap with the piece before, 0 where there is none; `cut_nm` all the mesh it
    takes, its return among it.
    """

    start_nm: int
    end_nm: int
    lap_nm: int
    return_nm: int | None
    cut_nm: int


class Lap(msgspec.Struct, frozen=True, kw_only=True):
    """Where one piece laps the piece before it [nm].

    `too_near_nm` are the points that it should keep further away from: empty, unless no other
    place was to be had.
    """

    start_nm: int
    end_nm: int
    lap_nm: int
    too_near_nm: tuple[int, ...] = ()


class Return(msgspec.Struct, frozen=True, kw_only=True):
    """A return at the end of the piece numbered `piece`, counted from 0 [nm]."""

    at_nm: int
    return_nm: int
    piece: int


class Overlong(msgspec.Struct, frozen=True, kw_only=True):
    """Two neighbouring fixings, or an open end and a fixing, further apart than `span_nm`.

    `lacking_nm` are places where a fixing of another kind would mend it; empty where returns
    would be in reach but the pieces cannot be made to end there.
    """

    start_nm: int
    end_nm: int
    span_nm: int
    lacking_nm: tuple[int, ...] = ()


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of the run [nm]; the whole of a closed loop if it ends where it starts."""

    start_nm: int
    end_nm: int


class PieceLayout(msgspec.Struct, frozen=True, kw_only=True):
    """Where the pieces of one run break, lap and turn in [nm].

    On a closed loop positions are in [0, length). `backward` says that the work goes against
    the run's direction, so that a piece ends before it begins. `mesh_nm` is all the mesh cut.

    `conflicts` are the stretches where the rules leave no place for a lap within a piece's
    reach. The layout then has laps that are `too_near` or, if `short_pieces`, pieces that cover
    less than the least. There are no pieces only where even that does not help.
    """

    pieces: tuple[Piece, ...]
    laps: tuple[Lap, ...]
    returns: tuple[Return, ...]
    overlong: tuple[Overlong, ...]
    conflicts: tuple[Stretch, ...] = ()
    short_pieces: bool = False
    backward: bool = False
    mesh_nm: int = 0
