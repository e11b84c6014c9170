"""Outlines: from the modules of one roof plane to the loops round which the barrier runs."""

from service.calc.outline.narrow import narrow_notes
from service.calc.outline.outline import outline_of
from service.calc.outline.pairs import OverlapFault
from service.calc.outline.read import upright_boxes
from service.calc.outline.shape import (
    ArrayOutline,
    Box,
    Corner,
    DrawnShape,
    Edge,
    Facing,
    GapRules,
    Loop,
    Module,
    Note,
    NoteKind,
    Outline,
    Point,
    Rect,
)

__all__ = [
    "ArrayOutline",
    "Box",
    "Corner",
    "DrawnShape",
    "Edge",
    "Facing",
    "GapRules",
    "Loop",
    "Module",
    "Note",
    "NoteKind",
    "Outline",
    "OverlapFault",
    "Point",
    "Rect",
    "narrow_notes",
    "outline_of",
    "upright_boxes",
]
