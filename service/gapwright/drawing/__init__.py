"""Drawings: a laid-out job as a plan to scale, in SVG. Pure: facts in, text out."""

from gapwright.drawing.page import (
    draw_planes,
    draw_printed_plan,
    draw_section,
    plane_counts,
    plane_title,
)
from gapwright.drawing.section import SHAPE

__all__ = [
    "SHAPE",
    "draw_planes",
    "draw_printed_plan",
    "draw_section",
    "plane_counts",
    "plane_title",
]
