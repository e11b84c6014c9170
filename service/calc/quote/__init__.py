"""The quote: a whole job sized, billed to order, computed in hours, and priced."""

from service.calc.quote.job import Area, Job, LaidArea
from service.calc.quote.order import JobBill, OrderLine, UseLine
from service.calc.quote.price import Price, PriceResult, money
from service.calc.quote.reckon import Reckoned, reckon
from service.calc.quote.strips import JobStrip

__all__ = [
    "Area",
    "Job",
    "JobBill",
    "JobStrip",
    "LaidArea",
    "OrderLine",
    "Price",
    "PriceResult",
    "Reckoned",
    "UseLine",
    "money",
    "reckon",
]
