"""How one roll can be filled.

Pieces come in kinds, one for each length. Sizes and rooms are whole numbers of one common unit,
with the kerf already inside them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from service.quantity.whole import whole

Pattern = tuple[int, ...]
"""How many pieces of each kind."""

Filler = Callable[[Sequence[int], Sequence[int], int], Pattern]

_MOST_BITS = 1 << 25
_MOST_KINDS = 32
_COARSE = 1 << 15


class Work:
    """A budget of search steps: the same on every machine, unlike seconds."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def spend(self, steps: int = 1) -> bool:
        """Take `steps` from the budget and return whether it still holds."""
        self.left -= steps
        return self.left >= 0

    @contextmanager
    def part(self, parts: int) -> Iterator[Work]:
        """Lend one of so many equal parts of what is left; what is not used comes back."""
        lent = Work(max(0, self.left) // parts)
        self.left -= lent.left
        yield lent
        self.left += lent.left


def total(each: Sequence[int], counts: Sequence[int]) -> int:
    """Return what all pieces come to, `each` being a kind's length or worth."""
    return sum(value * count for value, count in zip(each, counts, strict=True))


def repeats(pattern: Sequence[int], rest: Sequence[int]) -> int:
    """Return how often a pattern can be cut out of the pieces that are left."""
    return min((have // need for need, have in zip(pattern, rest, strict=True) if need), default=0)


def less(rest: Sequence[int], pattern: Sequence[int], times: int = 1) -> list[int]:
    """Return the pieces that are left once a pattern has been cut so many times."""
    return [have - times * need for need, have in zip(pattern, rest, strict=True)]


def reach(sizes: Sequence[int], counts: Sequence[int], room: int) -> list[int] | None:
    """Return the lengths that can be cut from a roll, as sets of bits.

    Bit s of entry j is set when pieces of the last j kinds add up to s exactly. None when
    the common unit is so fine that the sets would take more than a few megabytes.
    """
    if room * (1 + len(sizes)) > _MOST_BITS:
        return None
    mask = (2 << room) - 1
    tails = [1]
    for size, count in zip(reversed(sizes), reversed(counts), strict=True):
        tails.append(_with_multiples(tails[-1], size, min(count, room // size)) & mask)
    return tails


def first_fit(sizes: Sequence[int], counts: Sequence[int], room: int) -> Pattern:
    """Return the pattern of a cutter who takes the kinds in turn, each as often as it still fits.

    With `sizes` from long to short, roll after roll, this is first-fit decreasing.
    """
    shortest = min(sizes, default=0)
    pattern = []
    for size, count in zip(sizes, counts, strict=True):
        if room < shortest:
            break
        pattern.append(min(count, room // size))
        room -= pattern[-1] * size
    return (*pattern, *(0 for _ in sizes[len(pattern) :]))


def fullest(sizes: Sequence[int], counts: Sequence[int], room: int) -> Pattern:
    """Return the pattern that leaves the shortest end, long pieces first among equals.

    Limits: looks at no more than 32 lengths at once, spread over those that are left.
    """
    kinds = [k for k, count in enumerate(counts) if count and sizes[k] <= room]
    if len(kinds) > _MOST_KINDS:
        kinds = [kinds[i * (len(kinds) - 1) // (_MOST_KINDS - 1)] for i in range(_MOST_KINDS)]
    chosen = _traced([sizes[k] for k in kinds], [counts[k] for k in kinds], room)
    pattern = [0] * len(sizes)
    for k, count in zip(kinds, chosen, strict=True):
        pattern[k] = count
    return tuple(pattern)


def _with_multiples(sums: int, size: int, count: int) -> int:
    """Return the sums with up to `count` more of a size, by doubling."""
    step = 1
    while count > 0:
        taken = min(step, count)
        sums |= sums << (taken * size)
        count -= taken
        step *= 2
    return sums


def _traced(sizes: list[int], counts: list[int], room: int) -> Sequence[int]:
    """Return the pattern behind the largest sum, found by going back from it."""
    tails = reach(sizes, counts, room)
    if tails is None:
        return _traced_coarsely(sizes, counts, room)
    left = tails[-1].bit_length() - 1
    chosen = []
    for size, most, tail in zip(sizes, counts, reversed(tails[:-1]), strict=True):
        count = min(most, left // size)
        while not tail >> (left - count * size) & 1:
            count -= 1
        chosen.append(count)
        left -= count * size
    return chosen


def _traced_coarsely(sizes: list[int], counts: list[int], room: int) -> Sequence[int]:
    """Return a full pattern by sizes rounded up to a coarse unit, or the plain one if fuller."""
    grain = room // _COARSE + 1
    coarse = _traced([whole(size, grain) for size in sizes], counts, room // grain)
    over = first_fit(sizes, less(counts, coarse), room - total(sizes, coarse))
    topped = [count + more for count, more in zip(coarse, over, strict=True)]
    plain = first_fit(sizes, counts, room)
    return max(plain, topped, key=lambda pattern: total(sizes, pattern))
