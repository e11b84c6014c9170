"""What no cut plan can beat: the relaxation in which a pattern may be cut in fractions.

A linear program over patterns, solved by column generation (P. C. Gilmore and R. E. Gomory,
"A linear programming approach to the cutting-stock problem", Operations Research 9, 1961).
The program itself runs in floats; the bound does not: the prices it ends with are rounded to
integers and every roll is filled against them exactly, so the bound holds whatever the floats
did.
"""

from __future__ import annotations

import msgspec

from service.calc.rolls.fill import Pattern, Work, total
from service.calc.rolls.simplex import Simplex
from service.calc.rolls.worth import Offer, worthiest
from service.quantity.whole import whole

Share = tuple[int, Pattern, float]
"""Type of roll, pattern, and how many rolls are cut so: a fraction of a roll counts too."""

SCALE = 1 << 24

_SHORTAGE = 1000.0
_GAIN = 1e-7
_MOST_KINDS = 120
_MOST_TURNS = 900


class Task(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pieces to cut from given rolls, so that one roll, the last, is used as little as can be.

    `full[t]` rolls with room for `rooms[t]` are filled freely; the last has room for `last`.
    All lengths are whole numbers of one common unit; `sizes` run from long to short.
    """

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    rooms: tuple[int, ...]
    full: tuple[int, ...]
    last: int


class Prices(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Worth of each piece, in 1/SCALE of the unit, and what they prove.

    No full roll of type t carries more than `tops[t]`, so at least `owed` of the last roll is
    used. A pattern worth less than its top adds the difference to that, exactly.
    """

    worth: tuple[int, ...]
    tops: tuple[int, ...]
    owed: int

    @property
    def least(self) -> int:
        """Return the least length that must be cut from the last roll [unit]."""
        return max(0, whole(self.owed, SCALE))


class Relaxed(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The best proof found, if any, and the full rolls as fractions, most used pattern first."""

    prices: Prices | None
    shares: tuple[Share, ...]


def relax(task: Task, enough: int, work: Work) -> Relaxed:
    """Return the relaxation of a task; stops early once `enough` of the last roll is proven used.

    No prices when `work` runs out or when there are more than 120 different lengths.
    """
    if len(task.sizes) > _MOST_KINDS:
        return Relaxed(prices=None, shares=())
    columns = _Columns(task)
    best: Prices | None = None
    for _ in range(_MOST_TURNS):
        entering = columns.simplex.entering()
        if entering is None:
            found = columns.price(work)
            if best is None or found.owed > best.owed:
                best = found
            if best.least >= min(enough, columns.objective()):
                break
            entering = columns.simplex.entering()
        if entering is None or not work.spend(columns.turn) or not columns.simplex.pivot(entering):
            break
    return Relaxed(prices=best, shares=columns.shares())


class _Columns:
    """The linear program of a task, and the pattern behind each of its columns.

    Rows: one for each length, all of which is cut; one for each type of full roll, no more of
    which are cut than there are; one for the last roll. A piece left uncut costs a thousand
    times its length, the last roll what is cut from it, in parts of the longest room.
    """

    def __init__(self, task: Task) -> None:
        self.task = task
        self.unit = max(*task.rooms, task.last)
        self.patterns: list[tuple[int, Pattern]] = []
        shortage = [_SHORTAGE * size / self.unit for size in task.sizes]
        levels = (*task.counts, *task.full, 1)
        self.simplex = Simplex(levels, shortage + [0.0] * (len(task.full) + 1))
        self.turn = 1 + len(levels) ** 2 // 16

    def objective(self) -> float:
        """Return the length cut from the last roll, a shade low so as not to be missed."""
        return self.simplex.objective * self.unit - 1e-6

    def price(self, work: Work) -> Prices:
        """Fill a roll of each type against the prices; keep what gains; return what is proven."""
        task, scale = self.task, self.unit * SCALE
        duals = self.simplex.duals
        worth = tuple(max(0, round(dual * scale)) for dual in duals[: len(task.sizes)])
        beyond = tuple(w - size * SCALE for w, size in zip(worth, task.sizes, strict=True))
        offers = [(worth, room) for room in task.rooms] + [(beyond, task.last)]
        tops = []
        for roll, (values, room) in enumerate(offers):
            paid = max(0, int(-duals[len(task.sizes) + roll] * scale))
            offer = Offer(worth=values, sizes=task.sizes, counts=task.counts)
            top, pattern = worthiest(offer, room, paid, work)
            tops.append(top)
            if pattern is not None and top - paid > _GAIN * scale:
                self._add(roll, pattern)
        owed = total(worth, task.counts) - total(tops, (*task.full, 1))
        return Prices(worth=worth, tops=tuple(tops[:-1]), owed=owed)

    def shares(self) -> tuple[Share, ...]:
        """Return the full rolls as fractions, the most used pattern first."""
        used = [(*self.patterns[column], level) for column, level in self.simplex.used().items()]
        full = [share for share in used if share[0] < len(self.task.full)]
        return tuple(sorted(full, key=lambda share: -share[2]))

    def _add(self, roll: int, pattern: Pattern) -> None:
        parts = [(kind, count) for kind, count in enumerate(pattern) if count]
        last = roll == len(self.task.full)
        cost = total(self.task.sizes, pattern) / self.unit if last else 0.0
        self.simplex.add((*parts, (len(self.task.sizes) + roll, 1)), cost)
        self.patterns.append((roll, pattern))
