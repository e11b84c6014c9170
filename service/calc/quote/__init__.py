"""The quote: a whole job sized, billed to order, reckoned in hours, and priced."""

from service.calc.quote.job import Area, Job, LaidArea
from service.calc.quote.order import JobBill, OrderLine
from service.calc.quote.price import Price, PricedLine, Share, Taxed
from service.calc.quote.reckon import Reckoned, reckon
from service.calc.quote.strips import Strip

__all__ = [
    "Area",
    "Job",
    "JobBill",
    "LaidArea",
    "OrderLine",
    "Price",
    "PricedLine",
    "Reckoned",
    "Share",
    "Strip",
    "Taxed",
    "reckon",
]
