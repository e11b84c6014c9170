"""Show a cut plan in the caller's units."""

from __future__ import annotations

from service.calc.rolls import CutPlan
from service.calls.answers.layout import CutPieceAnswer, CutPlanAnswer, RollAnswer
from service.quantity.show import System, long


def show_plan(plan: CutPlan, system: System) -> CutPlanAnswer:
    """Return a cut plan in the caller's units."""
    return CutPlanAnswer(
        rolls=tuple(
            RollAnswer(
                length=long(roll.length_nm, system, "down"),
                pieces=tuple(
                    CutPieceAnswer(
                        piece=piece.label,
                        start=long(piece.start_nm, system, "down"),
                        length=long(piece.length_nm, system, "up"),
                    )
                    for piece in roll.pieces
                ),
                remnant=long(roll.remnant_nm, system, "down"),
            )
            for roll in plan.rolls
        ),
        optimal=plan.optimal,
        bound=plan.bound,
    )
