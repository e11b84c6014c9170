"""What a layout of pieces says: pieces, overlaps, returns, and every rule it could not keep."""

from __future__ import annotations

import msgspec


class Piece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of channel, from where it begins to where it ends along the run [nm].

    `overlap_nm` is its overlap with the piece before, 0 where there is none. `start_return_nm` and
    `return_nm` are the mesh of the return at its start and at its end, None where that end is
    not turned in. `cut_nm` is all the mesh it takes, its returns among it.
    """

    start_nm: int
    end_nm: int
    overlap_nm: int
    cut_nm: int
    start_return_nm: int | None = None
    return_nm: int | None = None

    @property
    def covered_nm(self) -> int:
        """Return how much of the run the piece covers, its overlap among it [nm]."""
        return self.cut_nm - self.returned_nm

    @property
    def returned_nm(self) -> int:
        """Return the mesh of its returns [nm]."""
        return (self.start_return_nm or 0) + (self.return_nm or 0)


class Overlap(msgspec.Struct, frozen=True, kw_only=True):
    """Where one piece overlaps the piece before it [nm].

    `too_near_nm` are the points that it should keep further away from: empty, unless no other
    place was to be had.
    """

    start_nm: int
    end_nm: int
    overlap_nm: int
    too_near_nm: tuple[int, ...] = ()


class Return(msgspec.Struct, frozen=True, kw_only=True):
    """A return at one end of the piece numbered `piece`, counted from 0 [nm]."""

    at_nm: int
    return_nm: int
    piece: int
    at_start: bool = False


class Overlong(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of the run that lies beyond the reach of the fixing before it [nm].

    It goes on to the next fixing at `end_nm`. `fixing_nm` is the fixing before it, or the open
    end; None where nothing at all fixes the run, which is then unsupported from end to end.
    """

    start_nm: int
    end_nm: int
    length_nm: int
    fixing_nm: int | None


class PieceLayout(msgspec.Struct, frozen=True, kw_only=True):
    """Where the pieces of one run begin, end, overlap and turn in, in order along the run [nm].

    On a closed loop positions are in [0, length). If `short_pieces`, letting overlaps be too near
    to points did not help, and pieces may cover less than the least. There are no pieces only where
    nothing helps.
    """

    pieces: tuple[Piece, ...] = ()
    overlaps: tuple[Overlap, ...] = ()
    returns: tuple[Return, ...] = ()
    overlong: tuple[Overlong, ...] = ()
    short_pieces: bool = False

    @property
    def conflicts(self) -> tuple[Overlap, ...]:
        """Return the overlaps for which the rules left no place: they are too near to points."""
        return tuple(overlap for overlap in self.overlaps if overlap.too_near_nm)

    @property
    def mesh_nm(self) -> int:
        """Return all the mesh cut [nm]."""
        return sum(piece.cut_nm for piece in self.pieces)
