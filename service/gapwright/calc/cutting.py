"""Cut plans: which piece is cut from which roll, from as few rolls as can be.

Two greedy plans are tried first. Where both take more rolls than the total length needs, an integer
program over the patterns by which one roll can be cut is solved by HiGHS. Pieces come in kinds, one
for each length, ordered from long to short.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from decimal import Decimal
from math import ceil, gcd
from typing import Any

import highspy
import msgspec
import numpy as np

from gapwright.errors import Fault, InvalidRequestError
from gapwright.quantity.whole import whole

Cut = tuple[int, ...]
"""How many pieces of each kind are cut from one roll."""

Filler = Callable[[Sequence[int], Sequence[int], int], Cut]

MAX_FULLEST_WORK = 2_000_000_000
"""Bits that `fullest` may write in one plan, about a third of a second."""

MAX_KINDS = 100
MAX_STEPS = 100_000
MAX_PATTERNS = 5_000
MAX_CHECKS = 50
"""What bounds the effort to about a second: lengths of pieces, steps of listing patterns, patterns
in the model, and how often HiGHS asks whether to go on. Counts, unlike seconds, stop every machine
at the same place."""

_TOLERANCE = 1e-6
"""By how much HiGHS may miss a bound, in rolls."""


class WantedPiece(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pieces of one length to be cut; `label` is what the plan calls them."""

    length_nm: int
    count: int = 1
    label: str = ""


class CutPiece(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One piece and where it starts, measured from the roll's free end."""

    length_nm: int
    start_nm: int
    label: str


class CutRoll(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One roll, its pieces in cutting order, and what is left of it."""

    length_nm: int
    pieces: tuple[CutPiece, ...]
    remnant_nm: int


class CutPlan(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The rolls to cut, the one with the longest remnant last.

    No plan takes fewer rolls than `bound`; `optimal` says that this plan takes just that many.
    """

    rolls: tuple[CutRoll, ...]
    bound: int
    optimal: bool


def cut_plan(pieces: Sequence[WantedPiece], roll_nm: int) -> CutPlan:
    """Return the plan that cuts all `pieces` from rolls of `roll_nm`: as few rolls as can be.

    Of two plans with as many rolls the one with the longer last remnant is taken, since one long
    end can be used again where many short ones are scrap. The exact model is asked only where the
    greedy plans take more rolls than the total length needs. Its effort is bounded by its size
    and by search nodes, never by time, so that every machine gives the same plan; where that
    does not settle the number of rolls, `bound` is less than the rolls of the plan.
    Pieces of one length are labeled in the order given; that order changes nothing else.

    Lengths are above zero, counts not below it.

    Errors: InvalidRequestError, with a fault for each piece that is longer than a roll.
    """
    too_long = [
        _too_long(i, piece, roll_nm) for i, piece in enumerate(pieces) if piece.length_nm > roll_nm
    ]
    if too_long:
        raise InvalidRequestError(too_long)
    demand: Counter[int] = Counter()
    for piece in pieces:
        demand[piece.length_nm] += piece.count
    lengths = sorted((length for length, count in demand.items() if count), reverse=True)
    counts = [demand[length] for length in lengths]
    bound = whole(total(lengths, counts), roll_nm)
    cuts = greedy_plan(lengths, counts, roll_nm)
    if len(cuts) > bound:
        found, bound = fewest_rolls(lengths, counts, roll_nm, bound)
        cuts = found if found and len(found) < len(cuts) else cuts
    rolls = _rolls(cuts, lengths, roll_nm, _labels(pieces))
    return CutPlan(rolls=rolls, bound=bound, optimal=len(rolls) == bound)


def _labels(pieces: Sequence[WantedPiece]) -> dict[int, list[str]]:
    """Return the labels of each length, the first to be used at the end."""
    labels: dict[int, list[str]] = {}
    for piece in reversed(pieces):
        labels.setdefault(piece.length_nm, []).extend([piece.label] * piece.count)
    return labels


def _rolls(
    cuts: Sequence[Cut], lengths: Sequence[int], roll_nm: int, labels: dict[int, list[str]]
) -> tuple[CutRoll, ...]:
    """Return the rolls from the fullest to the one with the longest remnant."""
    ordered = sorted(cuts, key=lambda cut: (total(lengths, cut), cut), reverse=True)
    return tuple(_roll(cut, lengths, roll_nm, labels) for cut in ordered)


def _roll(cut: Cut, lengths: Sequence[int], roll_nm: int, labels: dict[int, list[str]]) -> CutRoll:
    pieces = []
    start = 0
    for length, count in zip(lengths, cut, strict=True):
        for _ in range(count):
            label = labels[length].pop()
            pieces.append(CutPiece(length_nm=length, start_nm=start, label=label))
            start += length
    return CutRoll(length_nm=roll_nm, pieces=tuple(pieces), remnant_nm=roll_nm - start)


def _too_long(position: int, piece: WantedPiece, roll_nm: int) -> Fault:
    name = f'The piece "{piece.label}"' if piece.label else "A piece"
    return Fault(
        path=("pieces", position),
        problem=f"{name} is {_mm(piece.length_nm)} long; the longest roll is {_mm(roll_nm)}.",
        remedy="Use shorter pieces or a longer roll.",
    )


def _mm(length_nm: int) -> str:
    return f"{Decimal(length_nm).scaleb(-6).normalize():f} mm"


def total(lengths: Sequence[int], counts: Sequence[int]) -> int:
    """Return the total length of that many pieces of each kind."""
    return sum(length * count for length, count in zip(lengths, counts, strict=True))


def greedy_plan(lengths: Sequence[int], counts: Sequence[int], roll: int) -> list[Cut]:
    """Return the better of two greedy plans: fewest rolls, then the longest remnant on one.

    First-fit decreasing takes fewer rolls now and then; filling each roll as far as the pieces
    allow leaves the longer remnant. Limits: the second is left out where lengths have no common
    unit, or are too many, to search all sums of lengths within `MAX_FULLEST_WORK`.
    """
    unit = gcd(roll, *lengths)
    sizes, room = [length // unit for length in lengths], roll // unit
    plans = [_fill_rolls(first_fit, sizes, counts, room)]
    if len(plans[0]) * len(sizes) * room <= MAX_FULLEST_WORK:
        plans.append(_fill_rolls(fullest, sizes, counts, room))
    return min(plans, key=lambda cuts: (len(cuts), min((total(sizes, c) for c in cuts), default=0)))


def _fill_rolls(
    fill: Filler, lengths: Sequence[int], counts: Sequence[int], roll: int
) -> list[Cut]:
    """Return the cuts of roll after roll, each filled by `fill` from what is left."""
    cuts: list[Cut] = []
    rest = list(counts)
    while any(rest):
        cut = fill(lengths, rest, roll)
        # The same cut is the answer again until one of its kinds runs short.
        times = min(have // need for have, need in zip(rest, cut, strict=True) if need)
        cuts += [cut] * times
        rest = [have - times * need for have, need in zip(rest, cut, strict=True)]
    return cuts


def first_fit(lengths: Sequence[int], counts: Sequence[int], roll: int) -> Cut:
    """Return the cut that takes each kind in turn as often as it still fits.

    Roll after roll this is first-fit decreasing.
    """
    cut = []
    for length, count in zip(lengths, counts, strict=True):
        assumed = min(count, roll // length)
        cut.append(assumed)
        roll -= assumed * length
    return tuple(cut)


def fullest(lengths: Sequence[int], counts: Sequence[int], roll: int) -> Cut:
    """Return the cut that wastes least of a roll; of equals the one with the longest pieces."""
    # Bit s of sums[k] is set when the k shortest kinds can be added up to s.
    sums = [1]
    for length, count in zip(reversed(lengths), reversed(counts), strict=True):
        sums.append(_add_multiples(sums[-1], length, min(count, roll // length), roll))
    left = sums.pop().bit_length() - 1
    cut = []
    for length, count in zip(lengths, counts, strict=True):
        assumed = min(count, left // length)
        reachable = sums.pop()
        while not reachable >> (left - assumed * length) & 1:
            assumed -= 1
        cut.append(assumed)
        left -= assumed * length
    return tuple(cut)


def _add_multiples(sums: int, length: int, count: int, roll: int) -> int:
    """Return the sums up to `roll` with up to `count` more of a length, by doubling."""
    mask = (2 << roll) - 1
    step = 1
    while count > 0:
        assumed = min(step, count)
        sums |= (sums << (assumed * length)) & mask
        count -= assumed
        step *= 2
    return sums


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
    chosen = patterns[:MAX_PATTERNS]
    rolls, least = _solve(chosen, counts, bound)
    if len(chosen) == len(patterns):  # otherwise a pattern left out could be the better one
        bound = ceil(max(bound, least - _TOLERANCE))
    return _trim(chosen, rolls, counts), bound


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
            rest = [have - assumed for have, assumed in zip(rest, cut, strict=True)]
            if any(cut):
                cuts.append(cut)
    return [] if any(rest) else cuts
