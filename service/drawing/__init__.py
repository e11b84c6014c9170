"""Drawings: a laid-out job as a plan to scale, in SVG. Pure: facts in, text out."""

from service.drawing.page import draw_planes, draw_section
from service.drawing.printed_plans import PrintedPlan, draw_printed_plans

__all__ = ["PrintedPlan", "draw_planes", "draw_printed_plans", "draw_section"]
