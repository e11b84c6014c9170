"""The quote: a whole job sized, billed to order, computed in hours, and priced."""

from service.calc.quote.compute import JobFigures, compute_job
from service.calc.quote.job import Area, Job, JobStrip
from service.calc.quote.order import JobBill, OrderLine, UseLine
from service.calc.quote.price import Price, PriceResult, money

__all__ = [
    "Area",
    "Job",
    "JobBill",
    "JobFigures",
    "JobStrip",
    "OrderLine",
    "Price",
    "PriceResult",
    "UseLine",
    "compute_job",
    "money",
]
