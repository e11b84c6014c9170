"""The crew sheet: a quoted job as printed pages for the roof. No prices stand on it."""

from service.sheet.sheet import Receipts, crew_sheet, sheet_data

__all__ = ["Receipts", "crew_sheet", "sheet_data"]
