"""The fewest rolls, by an integer program over the ways to cut one roll, solved by HiGHS."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any

import highspy
import numpy as np

from service.calc.rolls.fill import Cut, total

MAX_KINDS = 100
MAX_STEPS = 100_000
MAX_PATTERNS = 5_000
MAX_CHECKS = 50
"""What bounds the effort to about a second: lengths of pieces, steps of listing patterns, patterns
in the model, and how often HiGHS asks whether to go on. Counts, unlike seconds, stop every machine
at the same place."""

_TOLERANCE = 1e-6
"""By how much HiGHS may miss a bound, in rolls."""


def fewest_rolls(
    lengths: Sequence[int], counts: Sequence[int], roll: int, bound: int
) -> tuple[list[Cut], int]:
    """Return a plan with as few rolls as the model finds, and the least that any plan takes.

    `lengths` fall, and no plan takes fewer rolls than `bound`. The plan is empty where there are
    too many ways to cut a roll, or where none was found within the bounds above.
    """
    patterns = _patterns(lengths, counts, roll)
    if not patterns:
        return [], bound
    patterns.sort(key=lambda pattern: (-total(lengths, pattern), pattern))
    kept = patterns[:MAX_PATTERNS]
    rolls, least = _solve(kept, counts, bound)
    if len(kept) == len(patterns):  # otherwise a pattern left out could be the better one
        bound = ceil(max(bound, least - _TOLERANCE))
    return _trim(kept, rolls, counts), bound


def _patterns(lengths: Sequence[int], counts: Sequence[int], roll: int) -> list[Cut]:
    """Return all cuts of one roll to which no piece can be added; none where they are too many."""
    if len(lengths) > MAX_KINDS:
        return []
    after = [total(lengths[kind:], counts[kind:]) for kind in range(len(lengths) + 1)]
    found: list[Cut] = []
    steps = 0

    def extend(cut: Cut, room: int, shortest_left: int) -> None:
        nonlocal steps
        steps += 1
        kind = len(cut)
        while kind < len(lengths) and lengths[kind] > room:
            kind += 1
        cut += (0,) * (kind - len(cut))
        if room - after[kind] >= shortest_left or steps > MAX_STEPS:
            return  # a piece that was left out fits whatever follows
        if kind == len(lengths):
            found.append(cut)
            return
        for count in range(min(counts[kind], room // lengths[kind]), -1, -1):
            left = lengths[kind] if count < counts[kind] else shortest_left
            extend((*cut, count), room - count * lengths[kind], left)

    extend((), roll, roll + 1)
    return found if steps <= MAX_STEPS else []


def _solve(patterns: Sequence[Cut], counts: Sequence[int], bound: int) -> tuple[list[int], float]:
    """Return how many rolls are cut by each pattern, none if not found, and HiGHS's lower bound."""
    columns = np.array(patterns, dtype=float)
    filled = columns != 0
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = columns.shape
    program.col_cost_ = np.ones(len(patterns))
    program.col_lower_ = np.zeros(len(patterns))
    program.col_upper_ = np.full(len(patterns), float(max(counts)))
    program.row_lower_ = np.array(counts, dtype=float)
    program.row_upper_ = np.full(len(counts), highspy.kHighsInf)
    program.integrality_ = [highspy.HighsVarType.kInteger] * len(patterns)
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.concatenate([[0], np.cumsum(filled.sum(axis=1))])
    program.a_matrix_.index_ = np.nonzero(filled)[1]
    program.a_matrix_.value_ = columns[filled]
    # Not `Highs`, which prints a banner to standard output as it is made.
    solver = highspy._Highs()  # type: ignore[attr-defined]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)  # several threads may end at another of equal plans
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("objective_target", bound + 0.5)  # a plan that meets the bound will do
    checks = 0

    def check(_type: object, _text: str, _out: object, answer: Any, _data: object) -> None:  # noqa: ANN401
        nonlocal checks
        checks += 1
        answer.user_interrupt = checks > MAX_CHECKS

    solver.setCallback(check, None)
    solver.startCallback(highspy.cb.HighsCallbackType.kCallbackMipInterrupt)
    solver.passModel(program)
    solver.run()
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return [], info.mip_dual_bound
    return [round(value) for value in solver.getSolution().col_value], info.mip_dual_bound


def _trim(patterns: Sequence[Cut], rolls: Sequence[int], counts: Sequence[int]) -> list[Cut]:
    """Return the cuts of the rolls, the fullest first, without pieces beyond those wanted.

    Empty where `rolls` is, or where they do not hold all pieces.
    """
    cuts: list[Cut] = []
    rest = list(counts)
    for pattern, times in zip(patterns, rolls, strict=False):
        for _ in range(times):
            cut = tuple(map(min, pattern, rest))
            rest = [have - taken for have, taken in zip(rest, cut, strict=True)]
            if any(cut):
                cuts.append(cut)
    return [] if any(rest) else cuts
