"""Show the bill of a whole job in the caller's units."""

from __future__ import annotations

from service.calc.layout.counts import WidthPlan
from service.calc.quote.order import JobBill, OrderLine, UseLine
from service.calls.answers.materials import PartAnswer, Unit
from service.calls.answers.quote import BillAnswer, OrderAnswer, UseAnswer, WidthPlanAnswer
from service.calls.answers.show_strips import show_plans
from service.quantity.show import Length, System, long, short, weight


def show_bill(bill: JobBill, system: System) -> BillAnswer:
    """Return a bill in the caller's units."""
    weights = [use.weight_g for use in bill.uses if use.weight_g is not None]
    return BillAnswer(
        lines=tuple(_use(use, system) for use in bill.uses),
        order=tuple(_order(order, system) for order in bill.orders),
        cut_plans=tuple(
            WidthPlanAnswer(
                strip_width=short(part.width_nm, system, "down"),
                cut_plan=show_plans([WidthPlan(strip_nm=part.width_nm, plan=part.plan)], system),
            )
            for part in bill.plans
        ),
        mesh_weight=weight(sum(weights), system) if weights else None,
    )


def show_width(width_nm: int | None, system: System) -> Length | None:
    """Return the width of a strip, None for what has none."""
    return short(width_nm, system, "down") if width_nm is not None else None


def _use(use: UseLine, system: System) -> UseAnswer:
    line = use.line
    return UseAnswer(
        item=line.item.id,
        description=line.item.description,
        quantity=_amount(line.quantity, line.item.measured, system),
        unit=_unit(line.item.measured, system),
        strip_width=show_width(use.width_nm, system),
        weight=weight(use.weight_g, system) if use.weight_g is not None else None,
        parts=tuple(
            PartAnswer(
                need=part.need,
                quantity=_amount(part.quantity, line.item.measured, system),
                rule=part.rule,
            )
            for part in line.parts
        ),
        rule=line.item.rule,
    )


def _order(order: OrderLine, system: System) -> OrderAnswer:
    measured = order.item.measured
    return OrderAnswer(
        item=order.item.id,
        description=order.item.description,
        strip_width=show_width(order.width_nm, system),
        packs=order.count,
        pack=order.pack,
        holds=_amount(order.holds, measured, system),
        left_over=_amount(order.left_over, measured, system),
        unit=_unit(measured, system),
        weight=weight(order.weight_g, system) if order.weight_g is not None else None,
    )


def _amount(quantity: int, measured: bool, system: System) -> float:
    return long(quantity, system, "up").value if measured else quantity


def _unit(measured: bool, system: System) -> Unit:
    if not measured:
        return "each"
    return "ft" if system == "imperial" else "m"
