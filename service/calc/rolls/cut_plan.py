"""The cut plan: which piece is cut from which roll, in which order, with the most left over."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import msgspec

from service.calc.rolls.fill import Work
from service.calc.rolls.orders import Job
from service.calc.rolls.purchase import Purchase, purchase
from service.errors import BadInputError, Fault

_NM_PER_MM = 1_000_000


class WantedPiece(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pieces of one length that are to be cut; `label` is what the plan calls them."""

    length_nm: int
    count: int = 1
    label: str = ""


class CutPiece(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One piece where it lies on its roll: `start_nm` from the roll's free end."""

    length_nm: int
    start_nm: int
    label: str


class CutRoll(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One roll, its pieces in the order they are cut, and what is left of it."""

    length_nm: int
    pieces: tuple[CutPiece, ...]
    remnant_nm: int


class CutPlan(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Rolls to cut, the one with the largest remnant last, and how good the plan is.

    No plan buys less than `bound_nm`, nor, if it buys no more than that, fewer rolls than
    `bound`. `optimal` says that this plan buys just that. Of the plans that buy what this one
    buys, none leaves one remnant longer than `remnant_bound_nm`; `remnant_optimal` says that
    this plan leaves just that.
    """

    rolls: tuple[CutRoll, ...]
    bought_nm: int
    bound: int
    bound_nm: int
    optimal: bool
    remnant_nm: int
    remnant_bound_nm: int
    remnant_optimal: bool


def cut_plan(
    pieces: Sequence[WantedPiece],
    stock_nm: Sequence[int],
    *,
    kerf_nm: int = 0,
    effort: int = 200_000,
) -> CutPlan:
    """Return the plan that cuts all `pieces` from rolls of the stocked lengths [nm].

    Best means, in this order: the least length bought, since mesh is paid by its length; the
    fewest rolls, since each is carried up and started; the longest single remnant, since one
    long end can be used again where many short ones are scrap. With one stocked length the
    first two are the same. Each length is stocked without limit, and two rolls are not bought
    where one roll of their length is stocked, though a kerf between them would help.

    `kerf_nm` is lost at every cut, none where a piece ends with the roll. `effort` bounds the
    search in steps of a microsecond or two, so that the same input has the same plan on every
    machine; past it the plan states its gap instead of `optimal`. Pieces of equal length are
    taken in the order given; that order changes nothing else.

    Limits: the bounds are weak past 120 different lengths, and past three stocked lengths.

    Errors: BadInputError, with a fault for each piece that no stocked roll can hold.
    """
    faults = _faults(pieces, stock_nm, kerf_nm)
    if faults:
        raise BadInputError(faults)
    wanted = [piece for piece in pieces if piece.count]
    if not wanted:
        return _EMPTY
    job = _job(wanted, stock_nm, kerf_nm)
    bought = known_purchase(job, effort)
    return _plan(bought, _rolls(job, bought, _labels(wanted)))


@lru_cache(maxsize=256)
def known_purchase(job: Job, effort: int) -> Purchase:
    """Return the best purchase for a job.

    What came up before is kept: an array is asked for again as a drawing, a bill and a quote.
    """
    return purchase(job, Work(effort))


_EMPTY = CutPlan(
    rolls=(),
    bought_nm=0,
    bound=0,
    bound_nm=0,
    optimal=True,
    remnant_nm=0,
    remnant_bound_nm=0,
    remnant_optimal=True,
)


def _job(wanted: Sequence[WantedPiece], stock_nm: Sequence[int], kerf_nm: int) -> Job:
    counts: dict[int, int] = {}
    for piece in wanted:
        counts[piece.length_nm] = counts.get(piece.length_nm, 0) + piece.count
    lengths = sorted(counts, reverse=True)
    return Job(
        lengths_nm=tuple(lengths),
        counts=tuple(counts[length] for length in lengths),
        stock_nm=tuple(sorted(set(stock_nm), reverse=True)),
        kerf_nm=kerf_nm,
    )


def _labels(wanted: Sequence[WantedPiece]) -> dict[int, list[str]]:
    """Return the labels of each length, the first to be used at the end."""
    labels: dict[int, list[str]] = {}
    for piece in reversed(wanted):
        labels.setdefault(piece.length_nm, []).extend([piece.label] * piece.count)
    return labels


def _rolls(job: Job, bought: Purchase, labels: dict[int, list[str]]) -> tuple[CutRoll, ...]:
    """Return the rolls from the best filled to the one with the largest remnant."""
    runs = sorted(
        (job.remnant_nm(room, pattern), room, [-count for count in pattern], pattern, times)
        for room, pattern, times in bought.runs
    )
    return tuple(
        _roll(job, job.stock_nm[room], pattern, remnant, labels)
        for remnant, room, _, pattern, times in runs
        for _ in range(times)
    )


def _roll(
    job: Job, stock_nm: int, pattern: Sequence[int], remnant_nm: int, labels: dict[int, list[str]]
) -> CutRoll:
    pieces = []
    start = 0
    for length, count in zip(job.lengths_nm, pattern, strict=True):
        for _ in range(count):
            label = labels[length].pop()
            pieces.append(CutPiece(length_nm=length, start_nm=start, label=label))
            start += length + job.kerf_nm
    return CutRoll(length_nm=stock_nm, pieces=tuple(pieces), remnant_nm=remnant_nm)


def _plan(bought: Purchase, rolls: tuple[CutRoll, ...]) -> CutPlan:
    remnant = rolls[-1].remnant_nm
    return CutPlan(
        rolls=rolls,
        bought_nm=bought.key[0],
        bound=bought.least_key[1],
        bound_nm=bought.least_key[0],
        optimal=bought.key == bought.least_key,
        remnant_nm=remnant,
        remnant_bound_nm=bought.remnant_bound_nm,
        remnant_optimal=remnant == bought.remnant_bound_nm,
    )


def _faults(pieces: Sequence[WantedPiece], stock_nm: Sequence[int], kerf_nm: int) -> list[Fault]:
    faults = [
        Fault(path=("stock", i), problem="The roll has no length.", remedy="Give one above zero.")
        for i, length in enumerate(stock_nm)
        if length <= 0
    ]
    if not stock_nm:
        faults.append(Fault(path=("stock",), problem="No roll is stocked.", remedy="Name one."))
    if kerf_nm < 0:
        faults.append(Fault(path=("kerf",), problem="The kerf is below zero."))
    longest = max(stock_nm, default=0)
    for i, piece in enumerate(pieces):
        if piece.length_nm <= 0 or piece.count < 0:
            problem = "The piece has no length, or its count is below zero."
            faults.append(Fault(path=("pieces", i), problem=problem))
        elif piece.length_nm > longest > 0:
            faults.append(_too_long(i, piece, longest))
    return faults


def _too_long(position: int, piece: WantedPiece, longest_nm: int) -> Fault:
    name = f'The piece "{piece.label}"' if piece.label else "A piece"
    return Fault(
        path=("pieces", position),
        problem=f"{name} is {_mm(piece.length_nm)} long, the longest roll {_mm(longest_nm)}.",
        remedy="Cut it in shorter pieces, or stock a longer roll.",
    )


def _mm(length_nm: int) -> str:
    whole, part = divmod(length_nm, _NM_PER_MM)
    return f"{whole}.{part:06d}".rstrip("0").rstrip(".") + " mm"
