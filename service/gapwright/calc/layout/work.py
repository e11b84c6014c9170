"""How much work a layout may be: a bound on the work itself, never on time."""

from __future__ import annotations

from collections.abc import Iterable

from gapwright.calc.pieces import PieceRules, Run
from gapwright.errors import Fault, InvalidRequestError
from gapwright.quantity.whole import whole

MOST_PLACES = 40_000
"""Places where a piece may end, on all runs that differ: some 3,000 ft of channel cut on inches,
which take a second or two; 20,000 modules in one array have 31,000."""


def refuse_too_much(runs: Iterable[Run], rules: PieceRules) -> None:
    """Raise InvalidRequestError if the runs together are longer than one request may lay out."""
    if sum(whole(run.length_nm, rules.grid_nm) for run in runs) > MOST_PLACES:
        problem = "These arrays need more channel than one request may lay out."
        remedy = "Split the job into several requests."
        raise InvalidRequestError([Fault(path=("array",), problem=problem, remedy=remedy)])
