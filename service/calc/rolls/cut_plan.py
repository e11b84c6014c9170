"""The cut plan: which piece is cut from which roll, and in which order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

import msgspec

from service.calc.rolls.exact import fewest_rolls
from service.calc.rolls.fill import Cut, fill_rolls, total
from service.errors import BadInputError, Fault
from service.quantity.whole import whole


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

    Errors: BadInputError, with a fault for each piece that is longer than a roll.
    """
    too_long = [
        _too_long(i, piece, roll_nm) for i, piece in enumerate(pieces) if piece.length_nm > roll_nm
    ]
    if too_long:
        raise BadInputError(too_long)
    demand: Counter[int] = Counter()
    for piece in pieces:
        demand[piece.length_nm] += piece.count
    lengths = sorted((length for length, count in demand.items() if count), reverse=True)
    counts = [demand[length] for length in lengths]
    bound = whole(total(lengths, counts), roll_nm)
    cuts = fill_rolls(lengths, counts, roll_nm)
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
        problem=f"{name} is {_mm(piece.length_nm)} long, the longest roll {_mm(roll_nm)}.",
        remedy="Cut it in shorter pieces, or stock a longer roll.",
    )


def _mm(length_nm: int) -> str:
    return f"{Decimal(length_nm).scaleb(-6).normalize():f} mm"
