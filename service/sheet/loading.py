"""What goes on the van and up the ladder, and the hours that the job takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.calc.quote import Reckoned
from service.calc.quote.order import OrderLine, UseLine, weighed
from service.quantity.output import Weight
from service.quantity.show import System
from service.rulesets.ruleset import RuleSet


def load(reckoned: Reckoned, rules: RuleSet, system: System) -> list[dict[str, str]]:
    """Return a line for each item: what to load, what the job uses of it, what is left over."""
    both = zip(reckoned.bill.uses, reckoned.bill.orders, strict=True)
    return [
        _line(use.value, order.value, weighed(order, rules).value, system) for use, order in both
    ]


def _line(use: UseLine, order: OrderLine, weight: Weight | None, system: System) -> dict[str, str]:
    width = f", strip {use.strip_width.text(system)} wide" if use.strip_width else ""
    holds = order.holds.text(system)
    packs = (
        f"{order.packs} × {order.pack} of {holds}" if order.holds.amount > 1 else str(order.packs)
    )
    return {
        "packs": packs,
        "item": f"{order.description}{width}",
        "uses": use.quantity.text(system),
        "left": order.left_over.text(system),
        "weight": weight.text(system) if weight is not None else "",
    }


def tools(shown: Any) -> dict[str, list[str]]:
    """Return the tools, the needed ones and the helpful ones."""
    if shown.tools is None:
        return {"needed": [], "helpful": []}
    return {
        "needed": [tool.description for tool in shown.tools.needed],
        "helpful": [tool.description for tool in shown.tools.helpful],
    }


def labour_plan(shown: Any) -> dict[str, Any] | None:
    """Return the hours by task; None where the rule set has no rates."""
    labour = shown.labour
    if labour is None or shown.schedule is None:
        return None
    rows = list(_rows(labour))
    common = _common_ending([row["means"] for row in rows])
    shorter = [{**row, "means": _shorter(row, common)} for row in rows]
    parts = [
        f"Times are of one person: {labour.person_hours.text} in all,"
        f" {shown.schedule.hours_on_site.text} on site, in days of"
        f" {shown.schedule.working_day.text}.",
        f"Not told, so not counted: {', '.join(labour.untold)}." if labour.untold else "",
        common,
    ]
    return {
        "crew": f"crew of {labour.crew}, {labour.days:g} {'day' if labour.days == 1 else 'days'}",
        "rows": shorter,
        "note": " ".join(part for part in parts if part),
    }


def _rows(labour: Any) -> Iterator[dict[str, str]]:
    for task in labour.tasks:
        yield {"means": task.means, "time": task.time.text}
    for added in labour.surcharges:
        adds = f"Adds {added.share:g} %."
        yield {"means": added.means, "adds": adds, "time": added.time.text}


def _shorter(row: Mapping[str, str], common: str) -> str:
    """Return what a row means, without the sentence that all rows end with."""
    return f"{row['means'].removesuffix(common).strip()} {row.get('adds', '')}".strip()


def _common_ending(texts: Sequence[str]) -> str:
    """Return the last sentence where all texts end with it and have another before it."""
    endings = {text.rstrip(".").rpartition(". ")[2] for text in texts}
    ending = f"{endings.pop()}." if len(endings) == 1 else ""
    return ending if all(text != ending for text in texts) else ""
