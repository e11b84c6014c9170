"""Outlines: from the modules of one roof plane to the loops around which the barrier runs."""

from gapwright.calc.outline.narrow import narrow_notes
from gapwright.calc.outline.nearness import near_each
from gapwright.calc.outline.outline import outline_of
from gapwright.calc.outline.pairs import OverlapFault
from gapwright.calc.outline.read import upright_boxes
from gapwright.calc.outline.shape import (
    ArrayOutline,
    Bounds,
    DrawnShape,
    Facing,
    GapRules,
    Loop,
    Module,
    Note,
    NoteKind,
    Outline,
    Side,
    Spot,
)

__all__ = [
    "ArrayOutline",
    "Bounds",
    "DrawnShape",
    "Facing",
    "GapRules",
    "Loop",
    "Module",
    "Note",
    "NoteKind",
    "Outline",
    "OverlapFault",
    "Side",
    "Spot",
    "narrow_notes",
    "near_each",
    "outline_of",
    "upright_boxes",
]
