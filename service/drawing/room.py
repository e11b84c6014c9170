"""What is taken on the page, so that no lettering is put over another."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, hypot

from service.drawing.svg import Dot

Patch = tuple[float, float, float, float]
"""Left, top, right and bottom on the page [px]."""

_CELL_PX = 40.0
_MANY_LOOKS, _MOST_LOOKS = 6_000, 12_000


class Room:
    """The patches that are taken, found by the squares of a grid that they touch.

    How often a place is looked for is bounded, so that a crowded sheet takes no longer than that;
    the bound counts looks, not time, and the same job is always drawn alike.
    """

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Patch]] = {}
        self._taken: list[Patch] = []
        self._looks = 0

    def take(self, patches: Sequence[Patch]) -> None:
        """Mark patches as taken."""
        self._taken.extend(patches)
        self.keep(patches)

    def keep(self, patches: Iterable[Patch]) -> None:
        """Keep patches free for what comes later; they do not count for the extent."""
        for patch in patches:
            for cell in _touched(patch):
                self._cells.setdefault(cell, []).append(patch)

    def is_free(self, patches: Iterable[Patch]) -> bool:
        """Return whether none of the patches overlaps one that is taken."""
        self._looks += 1
        return not any(map(self._hit, patches))

    def is_crowded(self) -> bool:
        """Return whether it has taken so much looking that only the best places are worth it."""
        return self._looks > _MANY_LOOKS

    def is_spent(self) -> bool:
        """Return whether there has been as much looking for places as is allowed."""
        return self._looks > _MOST_LOOKS

    def count(self) -> int:
        """Return how many patches are taken; `back_to` takes it."""
        return len(self._taken)

    def back_to(self, count: int) -> None:
        """Give up the patches that were taken since."""
        while len(self._taken) > count:
            patch = self._taken.pop()
            for cell in _touched(patch):
                self._cells[cell].pop()

    def extent(self) -> Patch:
        """Return the patch round everything that is taken."""
        if not self._taken:
            return 0.0, 0.0, 0.0, 0.0
        lefts, tops, rights, bottoms = zip(*self._taken, strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    def _hit(self, patch: Patch) -> bool:
        left, top, right, bottom = patch
        for cell in _touched(patch):
            for a, b, c, d in self._cells.get(cell, ()):
                if a < right and left < c and b < bottom and top < d:
                    return True
        return False


def along(start: Dot, end: Dot, half: float) -> list[Patch]:
    """Return patches that cover a straight line, `half` to either side of it."""
    (ax, ay), (bx, by) = start, end
    if abs(ax - bx) < 0.5 or abs(ay - by) < 0.5:
        return [(min(ax, bx) - half, min(ay, by) - half, max(ax, bx) + half, max(ay, by) + half)]
    count = max(1, ceil(hypot(bx - ax, by - ay) / (2 * half)))
    steps = [(n + 0.5) / count for n in range(count)]
    return [
        (
            ax + (bx - ax) * t - half,
            ay + (by - ay) * t - half,
            ax + (bx - ax) * t + half,
            ay + (by - ay) * t + half,
        )
        for t in steps
    ]


def round_about(place: Dot, half: float) -> Patch:
    """Return a square patch about a place."""
    x, y = place
    return x - half, y - half, x + half, y + half


def _touched(patch: Patch) -> list[tuple[int, int]]:
    left, top, right, bottom = patch
    first, last = int(left // _CELL_PX), int(right // _CELL_PX)
    upper, lower = int(top // _CELL_PX), int(bottom // _CELL_PX)
    if first == last:
        return [(first, j) for j in range(upper, lower + 1)]
    return [(i, j) for i in range(first, last + 1) for j in range(upper, lower + 1)]
