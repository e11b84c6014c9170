"""Drawings: a laid-out job as a plan to scale, in SVG. Pure: facts in, text out."""

from gapwright.drawing.page import draw_planes, draw_printed_legend, draw_printed_plan, draw_section

__all__ = ["draw_planes", "draw_printed_legend", "draw_printed_plan", "draw_section"]
