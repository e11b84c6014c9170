"""The crew sheet: a quoted job as printed pages for the roof, without prices."""

from service.sheet.crew_sheet import Receipts, sheet_data
from service.sheet.pdf import render_pdf, render_png

__all__ = ["Receipts", "render_pdf", "render_png", "sheet_data"]
