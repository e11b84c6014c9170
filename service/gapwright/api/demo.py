"""The demo job's pictures: the drawing of each plane, and the crew sheet as PDF and as pages."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from gapwright.api.body import read_typed
from gapwright.calc.quote.job import drawn_strips
from gapwright.calls.quote import quote
from gapwright.calls.quote_request import QuoteRequest
from gapwright.drawing import draw_planes
from gapwright.places import shipped
from gapwright.pricebooks.shelf import PriceShelf, price_folder
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf
from gapwright.sheet import crew_sheet, render_pdf, render_png

JOB = "quote-house"
_DAY = date(2026, 12, 1)
"""A day on which the demo's rule set and price book are in force; the sheet has it as its date."""
_PPI = 84


def write_demo(folder: Path) -> list[Path]:
    """Write the demo's pictures to a folder and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, content in demo():
        path = folder / name
        path.write_bytes(content)
        paths.append(path)
    return paths


def demo() -> Iterator[tuple[str, bytes]]:
    """Yield the demo's pictures by file name."""
    body = (shipped("openapi") / "examples" / f"{JOB}.json").read_bytes()
    typed, canonical = read_typed(QuoteRequest, body)
    rules = Shelf(shipped("rules")).pick(typed.ruleset or "", _DAY)
    yield from drawings(typed, rules)
    book = PriceShelf(price_folder(shipped("rules"))).pick("demo", _DAY)
    data = crew_sheet(typed, canonical, rules, book, _DAY)
    yield f"{JOB}-sheet.pdf", render_pdf(data)
    for number, page in enumerate(render_png(data, _PPI), 1):
        yield f"{JOB}-sheet-{number}.png", page


def drawings(typed: QuoteRequest, rules: RuleSet) -> Iterator[tuple[str, bytes]]:
    """Yield the drawing of each drawn plane by file name."""
    found = quote(typed, rules, None)
    assert found.job is not None
    assert found.figures is not None
    strips = drawn_strips(found.job, found.figures.strips)
    for laid in found.job.laid:
        assumed = {side.strip for side in laid.sides}
        own = [strip for strip in strips if strip.name in assumed]
        drawn = draw_planes([laid], own, rules, typed.units or rules.units)
        name = re.sub("[^a-z0-9]+", "-", laid.plane.name.lower())
        yield f"{JOB}-{name}.svg", drawn.encode()
