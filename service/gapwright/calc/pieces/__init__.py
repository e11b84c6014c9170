"""Pieces: where the channel breaks, overlaps and turns in along one run, proven the best."""

from gapwright.calc.pieces.lay_pieces import lay_pieces
from gapwright.calc.pieces.piece_layout import Overlap, Overlong, Piece, PieceLayout, Return
from gapwright.calc.pieces.run import KeepOff, PieceRules, Reach, Run, RunZone
from gapwright.calc.pieces.zones import longest_overlap_nm

__all__ = [
    "KeepOff",
    "Overlap",
    "Overlong",
    "Piece",
    "PieceLayout",
    "PieceRules",
    "Reach",
    "Return",
    "Run",
    "RunZone",
    "lay_pieces",
    "longest_overlap_nm",
]
