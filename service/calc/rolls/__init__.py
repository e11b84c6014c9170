"""Cut plans: which piece is cut from which roll."""

from service.calc.rolls.cut_plan import CutPiece, CutPlan, CutRoll, WantedPiece, cut_plan

__all__ = ["CutPiece", "CutPlan", "CutRoll", "WantedPiece", "cut_plan"]
