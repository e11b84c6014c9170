"""The crew sheet: a quoted job as printed pages for the roof, without prices."""

from gapwright.sheet.crew_sheet import Receipts, crew_sheet, sheet_data
from gapwright.sheet.pdf import render_pdf, render_png

__all__ = ["Receipts", "crew_sheet", "render_pdf", "render_png", "sheet_data"]
