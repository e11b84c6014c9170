"""What one roll can carry of pieces that are each worth something."""

from __future__ import annotations

import msgspec

from service.calc.rolls.fill import Pattern, Work, reach

_MOST_BITS = 1 << 17
_COARSE_BITS = 1 << 15
_MOST_STEPS = 3_000


class Offer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pieces to choose from for one roll: worth and size of each kind, and how many there are."""

    worth: tuple[int, ...]
    sizes: tuple[int, ...]
    counts: tuple[int, ...]


def worthiest(offer: Offer, room: int, beat: int, work: Work) -> tuple[int, Pattern | None]:
    """Return what no roll can carry more worth than, and the best pattern worth over `beat`.

    The first is the worth of the second, or `beat` where there is none; more where the search
    had to stop early.
    """
    kinds = [k for k, count in enumerate(offer.counts) if count and offer.worth[k] > 0]
    steps = Work(min(_MOST_STEPS, max(0, work.left)))
    choice = _Choice(offer, kinds, room, beat, steps, every=False)
    before = steps.left
    choice.descend(0, room, 0)
    work.spend(before - steps.left)
    return max(choice.beat, choice.missed), choice.found[-1][1] if choice.found else None


def patterns_worth(offer: Offer, room: int, beat: int, work: Work) -> list[tuple[int, Pattern]]:
    """Return every pattern worth more than `beat`, with its worth; complete while `work` holds."""
    kinds = [k for k, count in enumerate(offer.counts) if count]
    choice = _Choice(offer, kinds, room, beat, work, every=True)
    choice.descend(0, room, 0)
    return choice.found


class _Choice:
    """Branch and bound over the kinds of pieces, the worthiest for their length first."""

    def __init__(
        self, offer: Offer, kinds: list[int], room: int, beat: int, work: Work, *, every: bool
    ) -> None:
        kinds.sort(key=lambda k: (-offer.worth[k] / offer.sizes[k], k))
        self.kinds = kinds
        self.beat, self.work, self.every = beat, work, every
        self.worth = [offer.worth[k] for k in kinds]
        self.sizes = [offer.sizes[k] for k in kinds]
        self.counts = [offer.counts[k] for k in kinds]
        self.grain = 1 if room <= _MOST_BITS else 1 + room // _COARSE_BITS
        self.spare = (self.grain - 1) * (room // min(self.sizes, default=1))
        tails = reach([size // self.grain for size in self.sizes], self.counts, room // self.grain)
        self.tails = tails[::-1] if tails else None
        self.pattern = [0] * len(offer.sizes)
        self.found: list[tuple[int, Pattern]] = []
        self.missed = 0

    def descend(self, at: int, room: int, value: int) -> None:
        while at < len(self.kinds) and self.sizes[at] > room:
            at += 1
        if at == len(self.kinds):
            self._take(value)
            return
        size, worth = self.sizes[at], self.worth[at]
        bound = value + self._usable(at, room) * worth // size
        if bound <= self.beat:
            return
        if not self.work.spend():
            self.missed = max(self.missed, bound)
            return
        kind = self.kinds[at]
        for count in range(min(self.counts[at], room // size), -1, -1):
            self.pattern[kind] = count
            self.descend(at + 1, room - count * size, value + count * worth)
        self.pattern[kind] = 0

    def _usable(self, at: int, room: int) -> int:
        """Return what the kinds from `at` on can fill of a room, at most."""
        if not self.tails:
            return room
        sums = self.tails[at] & ((2 << room // self.grain) - 1)
        return min(room, (sums.bit_length() - 1) * self.grain + self.spare)

    def _take(self, value: int) -> None:
        if value > self.beat:
            self.found.append((value, tuple(self.pattern)))
            if not self.every:
                self.beat = value
