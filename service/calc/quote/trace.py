"""The trace of a reckoned job: which rules each figure of its quote follows from.

Amounts follow from what is ordered and worked, and cite what these cite; what a price book says is
named by the `rule` members of the price itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.calc.quote.order import is_strip
from service.calc.quote.price import Price
from service.calc.quote.reckon import Reckoned
from service.calc.sizing_trace import sizing_trace
from service.calc.trace import Step
from service.calc.weight import CITES as WEIGHT
from service.rulesets.ruleset import RuleSet

Rules = tuple[str, ...]
STRIP = ("values.strip_margin", "values.stocked_widths")
"""What the width of a strip follows from."""


def reckoned_trace(reckoned: Reckoned, rules: RuleSet) -> tuple[Step, ...]:
    """Return a step for each figure of a reckoned job, as pointers into its quote."""
    sized = list(_sizing(reckoned, rules))
    fit = unique(rule for step in sized for rule in step.cites)
    guesses = unique(strip.guess for strip in reckoned.strips if strip.guess)
    billed = list(_bill(reckoned, (*STRIP, *guesses)))
    worked = list(_labour(reckoned, fit))
    if reckoned.price is None:
        return (*sized, *billed, *worked, Step("/no_price", fit))
    return (*sized, *billed, *worked, *_price(reckoned.price, billed, worked, fit))


def followed(reckoned: Reckoned, rules: RuleSet) -> Rules:
    """Return every rule that the price and the hours of a reckoned job follow from."""
    found: dict[str, None] = dict.fromkeys(STRIP)
    for strip in reckoned.strips:
        found.update(dict.fromkeys((strip.guess,) if strip.guess else ()))
        for step in sizing_trace(strip.sizing, rules.values):
            found.update(dict.fromkeys(step.cites))
    worked = reckoned.labour.trace if reckoned.labour else ()
    for step in (*worked, *(step for part in reckoned.bill.bills for step in part.trace)):
        found.update(dict.fromkeys(step.cites))
    laid = reckoned.bill.laid
    return (*found, *(laid.pieces if laid else ()))


def unique(rules: Iterable[str]) -> Rules:
    """Return each rule once, in the order in which they come first."""
    return tuple(dict.fromkeys(rules))


def _sizing(reckoned: Reckoned, rules: RuleSet) -> Iterator[Step]:
    guesses = unique(strip.guess for strip in reckoned.strips if strip.guess)
    if guesses:
        yield Step("/sizing", guesses)
    for at, strip in enumerate(reckoned.strips):
        guess = (strip.guess,) if strip.guess else ()
        for step in sizing_trace(strip.sizing, rules.values):
            yield Step(f"/sizing/{at}{step.figure}", (*step.cites, *guess))


def _bill(reckoned: Reckoned, strip: Rules) -> Iterator[Step]:
    """Yield a step for each line; an array brings something to each where a strip covers it."""
    billed = reckoned.bill
    used, packed = _line_cites(reckoned)
    planned = billed.laid.pieces if billed.laid and billed.plans else ()
    yield Step("/bill", strip)
    yield Step("/tools", strip)
    for at, use in enumerate(billed.uses):
        cites = used[use.line.item.id]
        yield Step(f"/bill/lines/{at}", unique((*cites, *strip)))
        if use.weight_g is not None:
            yield Step(f"/bill/lines/{at}/weight", unique((*cites, *strip, *WEIGHT)))
    for at, order in enumerate(billed.orders):
        cites = packed[order.item.id]
        planned_too = planned if is_strip(order.item) else ()
        yield Step(f"/bill/order/{at}", unique((*cites, *strip, *planned_too)))
        if order.weight_g is not None:
            pack = f"{order.item.rule}.pack"
            yield Step(f"/bill/order/{at}/weight", (pack, *strip, *WEIGHT))
    strips = [order for order in billed.orders if is_strip(order.item)]
    if billed.plans:
        packs = (f"{order.item.rule}.pack" for order in strips)
        yield Step("/bill/cut_plans", unique((*planned, *strip, *packs)))
    if any(use.weight_g is not None for use in billed.uses):
        mesh = (rule for order in strips for rule in used[order.item.id])
        yield Step("/bill/mesh_weight", unique((*mesh, *strip, *WEIGHT)))


def _line_cites(reckoned: Reckoned) -> tuple[dict[str, Rules], dict[str, Rules]]:
    """Return what the quantity of each item follows from, and what its packs do."""
    used: dict[str, Rules] = {}
    packed: dict[str, Rules] = {}
    for found in reckoned.bill.bills:
        for step in found.trace:
            _, _, at, figure = step.figure.split("/")
            item = found.lines[int(at)].item.id
            if figure == "quantity":
                used[item] = unique((*used.get(item, ()), *step.cites))
            packed[item] = unique((*packed.get(item, ()), *step.cites))
    return used, packed


def _labour(reckoned: Reckoned, fit: Rules) -> Iterator[Step]:
    """Yield the steps of labour and schedule; there are none where no channel can be made."""
    if reckoned.labour is None:
        return
    yield Step("/labour", fit)
    yield Step("/schedule", fit)
    yield from reckoned.labour.trace
    shown = {"crew": "crew", "crew_hours": "hours_on_site", "days": "days"}
    for step in reckoned.labour.trace:
        figure = shown.get(step.figure.split("/")[2])
        if figure:
            yield Step(f"/schedule/{figure}", step.cites)


def _price(price: Price, billed: list[Step], worked: list[Step], fit: Rules) -> Iterator[Step]:
    """Yield the steps of the amounts: what is put on them changes with the price book only."""
    cites = {step.figure: step.cites for step in (*billed, *worked)}
    orders = [cites[f"/bill/order/{at}"] for at in range(len(price.lines))]
    materials = unique((*(rule for order in orders for rule in order), *fit))
    labour = unique((*cites.get("/labour/person_hours", ()), *fit))
    follows = {"materials": materials, "labour": labour, "fees": (*materials, *labour)}
    whole = unique((*materials, *labour))
    yield Step("/price", fit)
    for at, order in enumerate(orders):
        yield Step(f"/price/lines/{at}", order)
    yield Step("/price/materials", materials)
    if price.labour is not None:
        yield Step("/price/labour", labour)
    for figure in _sums(price):
        yield Step(f"/price/{figure}", whole)
    for at, taxed in enumerate(price.taxes):
        on = (rule for part in taxed.tax.on for rule in follows[part])
        yield Step(f"/price/taxes/{at}", unique(on))


def _sums(price: Price) -> Iterator[str]:
    yield from ("minimum_added", "subtotal", "to_be_priced")
    if price.total is not None:
        yield "total"
