"""How much work a layout may be: a bound on the work itself, never on time."""

from __future__ import annotations

from collections.abc import Iterable

from service.calc.pieces import PieceRules, Run
from service.errors import BadInputError, Fault
from service.quantity.whole import whole

MOST_PLACES = 60_000_000
"""Marks of the tape times the marks that a piece may reach: some eight miles of channel in 10-ft
pieces on inches, a few seconds of work."""


def refuse_too_much(runs: Iterable[Run], rules: PieceRules) -> None:
    """Raise BadInputError where runs, each told once, are more than is laid out at once."""
    reach = whole(rules.piece_nm, rules.grid_nm)
    marks = sum(whole(run.length_nm, rules.grid_nm) for run in runs)
    if marks * reach > MOST_PLACES:
        problem = "There is more channel round these arrays than is laid out at once."
        remedy = "Lay out fewer arrays at once."
        raise BadInputError([Fault(path=("array",), problem=problem, remedy=remedy)])
