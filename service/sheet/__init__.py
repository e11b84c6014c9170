"""The crew sheet: a quoted job as printed pages for the roof. No prices stand on it."""

from service.sheet.press import pdf, pictures
from service.sheet.sheet import Receipts, sheet_data

__all__ = ["Receipts", "pdf", "pictures", "sheet_data"]
