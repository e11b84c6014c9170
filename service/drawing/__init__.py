"""Drawings: a laid-out job as a plan to scale, in SVG. Pure: facts in, text out."""

from service.drawing.drawing import draw_plane, draw_planes, draw_section
from service.drawing.fitted import FittedPlan, draw_fitted

__all__ = ["FittedPlan", "draw_fitted", "draw_plane", "draw_planes", "draw_section"]
