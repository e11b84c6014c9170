"""Drawings: a laid-out job as a plan to scale, in SVG. Pure: facts in, text out."""

from service.drawing.drawing import draw_plane, draw_planes, draw_section

__all__ = ["draw_plane", "draw_planes", "draw_section"]
