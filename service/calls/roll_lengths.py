"""The lengths in which a rule set knows mesh to be sold."""

from __future__ import annotations

from service.calls.forms import Form
from service.errors import Fault
from service.quantity.kinds import RollLength
from service.quantity.show import long
from service.rulesets.ruleset import RuleSet


def roll_faults(roll: RollLength | None, form: Form, rules: RuleSet) -> list[Fault]:
    """Return a fault where the mesh is not sold in rolls of that length."""
    if roll is None:
        return []
    packs = [
        item.pack
        for item in rules.bill
        if item.pack and any(need.driver == "mesh_length" for need in item.needs)
    ]
    sold = sorted({size for pack in packs for size in (pack.holds, *pack.also)})
    if roll in sold:
        return []
    system = form.units or rules.units
    shown = " or ".join(long(size, system, "down").text for size in sold)
    problem = f"{rules.name} knows no rolls of {long(roll, system, 'down').text}."
    return [Fault(path=("roll_length",), problem=problem, remedy=f"Write {shown}.")]
