"""What there is to cut and to buy, and the orders that could do, the best first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from service.calc.rolls.fill import Pattern, total
from service.quantity.whole import whole

Order = tuple[int, ...]
"""How many rolls of each stocked length."""

Key = tuple[int, int]
"""Length bought [nm] and number of rolls; the smaller key is the better purchase."""

_MOST_SHORTER = 5_000


class Job(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pieces by length, long to short, and the stocked roll lengths, long to short [nm]."""

    lengths_nm: tuple[int, ...]
    counts: tuple[int, ...]
    stock_nm: tuple[int, ...]
    kerf_nm: int

    @property
    def sizes_nm(self) -> tuple[int, ...]:
        """Return what each piece takes from a roll that is a kerf longer than it is [nm].

        The cut at the far end falls away where a piece ends with the roll: that is what the
        extra kerf of the roll stands for.
        """
        return tuple(length + self.kerf_nm for length in self.lengths_nm)

    def remnant_nm(self, room: int, pattern: Pattern) -> int:
        """Return what is left of a roll of type `room` [nm]."""
        lost = self.kerf_nm * sum(pattern)
        return max(0, self.stock_nm[room] - total(self.lengths_nm, pattern) - lost)

    def key(self, rolls: Sequence[int]) -> Key:
        """Return what so many rolls of each type come to."""
        return total(self.stock_nm, rolls), sum(rolls)


def orders_between(job: Job, low: int, high: int) -> tuple[list[Order], bool]:
    """Return the orders that buy from `low` to under `high`, the best first, and if that is all."""
    stock = job.stock_nm
    most = _MOST_SHORTER
    if len(stock) > 2:
        most = int(_MOST_SHORTER ** (1 / (len(stock) - 1)))
    complete = all((high - 1) // length <= most for length in stock[1:])
    orders = [order for order in _mixes(stock, low, high, high, most) if not _wasteful(job, order)]
    orders.sort(key=lambda order: (job.key(order), [-rolls for rolls in order]))
    return orders, complete


def _mixes(
    stock: tuple[int, ...], low: int, high: int, most: int, most_shorter: int
) -> Iterator[Order]:
    """Yield each order that buys from `low` to under `high`: of the longest roll up to `most`."""
    length, shorter = stock[0], stock[1:]
    least = 0 if shorter else max(0, whole(low, length))
    for rolls in range(least, min(most + 1, whole(high, length))):
        if not shorter:
            yield (rolls,)
            continue
        bought = rolls * length
        for others in _mixes(shorter, low - bought, high - bought, most_shorter, most_shorter):
            yield (rolls, *others)


def _wasteful(job: Job, order: Order) -> bool:
    """Tell if two rolls of an order could be one stocked roll of the same length in all."""
    bought = [
        length
        for length, rolls in zip(job.stock_nm, order, strict=True)
        for _ in range(min(rolls, 2))
    ]
    pairs = {a + b for i, a in enumerate(bought) for b in bought[i + 1 :]}
    return not pairs.isdisjoint(job.stock_nm)
