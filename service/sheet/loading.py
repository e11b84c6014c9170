"""What goes on the van and up the ladder, and the hours that the job takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.calc.quote import Reckoned
from service.calc.quote.order import OrderLine, UseLine
from service.calls.answers.quote import LabourAnswer, QuoteAnswer
from service.quantity.show import System, long, short, weight


def load(reckoned: Reckoned, system: System) -> list[dict[str, str]]:
    """Return a line for each item: what to load, what the job uses of it, what is left over."""
    both = zip(reckoned.bill.uses, reckoned.bill.orders, strict=True)
    return [_line(use, order, system) for use, order in both]


def _line(use: UseLine, order: OrderLine, system: System) -> dict[str, str]:
    measured = order.item.measured
    width = f", strip {short(use.width_nm, system, 'down').text} wide" if use.width_nm else ""
    holds = _amount(order.holds, measured, system)
    packs = f"{order.count} × {order.pack} of {holds}" if order.holds > 1 else f"{order.count}"
    return {
        "packs": packs,
        "item": f"{order.item.description}{width}",
        "uses": _amount(use.line.quantity, measured, system),
        "left": _amount(order.left_over, measured, system),
        "weight": weight(order.weight_g, system).text if order.weight_g is not None else "",
    }


def _amount(quantity: int, measured: bool, system: System) -> str:
    return long(quantity, system, "up").text if measured else str(quantity)


def tools(shown: QuoteAnswer) -> dict[str, list[str]]:
    """Return the tools, the needed ones and the helpful ones."""
    if shown.tools is None:
        return {"needed": [], "helpful": []}
    return {
        "needed": [tool.description for tool in shown.tools.needed],
        "helpful": [tool.description for tool in shown.tools.helpful],
    }


def labour_plan(shown: QuoteAnswer) -> dict[str, Any] | None:
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


def _rows(labour: LabourAnswer) -> Iterator[dict[str, str]]:
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
