"""Greedy cut plans: fill one roll after the other.

Pieces come in kinds, one for each length, ordered from long to short.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import gcd

Cut = tuple[int, ...]
"""How many pieces of each kind are cut from one roll."""

Filler = Callable[[Sequence[int], Sequence[int], int], Cut]

MAX_FULLEST_WORK = 2_000_000_000
"""Bits that `fullest` may write in one plan, about a third of a second."""


def total(lengths: Sequence[int], counts: Sequence[int]) -> int:
    """Return the length of so many pieces of each kind together."""
    return sum(length * count for length, count in zip(lengths, counts, strict=True))


def fill_rolls(lengths: Sequence[int], counts: Sequence[int], roll: int) -> list[Cut]:
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
        taken = min(count, roll // length)
        cut.append(taken)
        roll -= taken * length
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
        taken = min(count, left // length)
        reachable = sums.pop()
        while not reachable >> (left - taken * length) & 1:
            taken -= 1
        cut.append(taken)
        left -= taken * length
    return tuple(cut)


def _add_multiples(sums: int, length: int, count: int, roll: int) -> int:
    """Return the sums up to `roll` with up to `count` more of a length, by doubling."""
    mask = (2 << roll) - 1
    step = 1
    while count > 0:
        taken = min(step, count)
        sums |= (sums << (taken * length)) & mask
        count -= taken
        step *= 2
    return sums
