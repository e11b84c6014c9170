"""Outlines: from the modules of one roof plane to the loops round which the barrier runs."""

from service.calc.outline.check import upright_box
from service.calc.outline.edges import Rect
from service.calc.outline.grid import closed_form_perimeter_nm
from service.calc.outline.outline import outline_of
from service.calc.outline.overlap import OverlapFault
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
    Outline,
    Point,
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
    "Outline",
    "OverlapFault",
    "Point",
    "Rect",
    "closed_form_perimeter_nm",
    "outline_of",
    "upright_box",
]
