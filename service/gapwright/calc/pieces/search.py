"""From the labels of the search to the pieces: the fewest, the cheapest, and where they lie."""

from __future__ import annotations

import msgspec
import numpy as np
import numpy.typing as npt

from gapwright.calc.pieces.course import NEVER, Course
from gapwright.calc.pieces.solve import (
    LATE,
    SECURE,
    TAB,
    TURNED,
    Arrivals,
    Ends,
    Flat,
    Labels,
    arrivals,
    follow,
)
from gapwright.calc.pieces.zones import Ints


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """One piece by the numbers of its places, with the mesh of its returns [nm]."""

    start: int
    end: int
    start_return_nm: int | None = None
    return_nm: int | None = None


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """The best pieces from one start; `late` is how much more than it need be is unsupported."""

    course: Course
    late_nm: int
    cost: int
    cuts: tuple[Cut, ...]


def best_cuts(course: Course) -> Found | None:
    """Return the best pieces from one start, None where the rules allow none.

    Layouts that lose no support are looked for first; only where there are none, all others.
    """
    fewest, most = int(course.to_go[0]), course.count
    # the fewer pieces are allowed, the less has to be looked at
    for more in (0, 1 + fewest // 16):
        few = fewest + more
        if few < most and (found := _search(course, course.late, few)):
            return found
    return _search(course, course.late, most) or _search(course, NEVER, most)


def _search(course: Course, limit: int, most: int) -> Found | None:
    """Return the best of at most that many pieces, of a cost below the limit."""
    # where support is lost, a piece may end far beyond the reach of the last return
    far = course.steps if course.has_bare or limit == NEVER else 0
    width = course.span + 2 * course.longest + 1 + far
    labels = _begin(course)
    seen = _Seen(course)
    history: list[Flat] = []
    best: tuple[int, int, Arrivals, int, int] | None = None
    while True:
        flat = labels.flat()
        if not len(flat.at):
            break
        history.append(flat)
        for return_nm in _end_returns(course):
            last = arrivals(course, flat, course.count, return_nm)
            if len(last.cost):
                at = _farthest(last, last.cost == last.cost.min())
                cost = int(last.cost[at])
                cost += course.return_cost if return_nm else 0
                late = cost // course.late
                if cost < limit and (
                    best is None or (late, len(history), cost) < (best[0], best[1], best[4])
                ):
                    best = late, len(history), last, at, cost
                    best_return = return_nm
        if best is not None and best[0] == 0:
            break
        bound = limit if best is None else min(limit, best[0] * course.late)
        first = labels.first + course.least
        last_place = min(labels.first + len(labels.turned) - 1 + course.steps, course.count - 1)
        if first > last_place:
            break
        ends = Ends(labels, first, last_place, bound, width)
        seen.turn(ends, bound)
        labels = seen.fresh(follow(ends), bound, most - len(history))
    if best is None:
        return None
    late, pieces, last, at, cost = best
    cuts = _trace(course, history[:pieces], last, at, best_return)
    return Found(course=course, late_nm=late, cost=cost % course.late, cuts=cuts)


def _begin(course: Course) -> Labels:
    """Return the labels before the first piece."""
    labels = Labels(course, 0, 0, np.empty(0, np.int64), 0)
    seam, can = course.start.seam, course.returns[0] >= 0
    if seam == "start" or (seam == "open" and not course.run.closed and can):
        labels.turned[0] = course.return_cost
    if seam != "start":
        supported = seam == "tab" or course.tab_secure[course.passed[0]]
        labels.plain[SECURE if supported else TAB, 0] = 0
    return labels


def _end_returns(course: Course) -> list[int]:
    """Return what mesh a return may take at the far end: 0 for none [nm]."""
    return_nm, seam = int(course.returns[-1]), course.start.seam
    if seam == "end":
        return [return_nm]
    return [0, return_nm] if return_nm > 0 and not course.run.closed else [0]


class _Seen:
    """What it took to get to each place with fewer pieces: more pieces must lose less support."""

    def __init__(self, course: Course) -> None:
        self.course = course
        self.plain = np.full((3, course.count + 1), NEVER, np.int64)
        self.turned = np.full(course.count + 1, NEVER, np.int64)
        self.fixed = np.full(course.count + 1, NEVER, np.int64)

    def fresh(self, labels: Labels, limit: int, more: int) -> Labels:
        """Return the labels that are worth going on from, cut to where any are."""
        course = self.course
        hopeless = course.to_go > more
        skip = max(-labels.first, 0)
        at = slice(labels.first + skip, labels.first + len(labels.turned))
        labels.plain = self._better(labels.plain[:, skip:], self.plain[:, at], limit)
        labels.turned = self._better(labels.turned[skip:], self.turned[at], limit)
        labels.first += skip
        labels.plain[:, hopeless[at]] = NEVER
        labels.turned[hopeless[at]] = NEVER
        self.plain[TAB:, at] = np.minimum(self.plain[TAB:, at], self.plain[SECURE, at])
        known = labels.earlier
        row, column = np.nonzero(known < NEVER)
        begin = labels.fixings[row] + column - course.longest
        drop = (known[row, column] >= limit) | hopeless[begin]
        known[row[drop], column[drop]] = NEVER
        return _cropped(labels)

    def turn(self, ends: Ends, limit: int) -> None:
        """Drop the returns at piece ends that were made with fewer pieces."""
        at = slice(ends.first, ends.last + 1)
        ends.fixed = self._better(ends.fixed, self.fixed[at], limit)

    def _better(self, cost: Ints, seen: Ints, limit: int) -> Ints:
        kept = np.where((cost < seen) & (cost < limit), cost, NEVER)
        np.minimum(seen, _whole_late(self.course, kept), out=seen)
        return kept


def _whole_late(course: Course, cost: Ints) -> Ints:
    """Return the part of costs that support takes, without the mesh."""
    return np.where(cost < NEVER, cost // course.late * course.late, NEVER)


def _cropped(labels: Labels) -> Labels:
    """Return labels without the places, returns and columns at which there are none."""
    known = labels.earlier < NEVER
    rows, columns = known.any(axis=1), np.flatnonzero(known.any(axis=0))
    used = np.flatnonzero((labels.plain < NEVER).any(axis=0) | (labels.turned < NEVER))
    used = np.concatenate((used + labels.first, labels.earlier_places[known]))
    first, last = (int(used.min()), int(used.max())) if len(used) else (0, -1)
    width = int(columns[-1]) + 1 if len(columns) else 0
    found = Labels(labels.course, first, last, labels.fixings[rows], width)
    part = slice(first - labels.first, last - labels.first + 1)
    found.plain, found.turned = labels.plain[:, part], labels.turned[part]
    found.earlier = labels.earlier[rows, :width]
    return found


def _farthest(pieces: Arrivals, chosen: npt.NDArray[np.bool_]) -> int:
    """Return which of the chosen pieces begins farthest along: short ones come last."""
    return int(np.where(chosen, pieces.source.at, -1).argmax())


def _trace(
    course: Course, history: list[Flat], last: Arrivals, at: int, return_nm: int
) -> tuple[Cut, ...]:
    """Return the pieces that lead to the end, found from the last one back."""
    cuts: list[Cut] = []
    end, end_return = course.count, return_nm or None
    source, chosen = last.source, at
    for number in range(len(history) - 1, -1, -1):
        begin, kind = int(source.at[chosen]), int(source.kind[chosen])
        own = int(course.returns[begin]) if kind == TURNED else None
        cuts.append(Cut(start=begin, end=end, start_return_nm=own, return_nm=end_return))
        if number:
            label = source.pick(np.arange(len(source.at)) == chosen)
            end, turned, source, chosen = _before(course, history[number - 1], label)
            end_return = int(course.returns[end]) if turned else None
    return tuple(reversed(cuts))


def _before(course: Course, labels: Flat, label: Flat) -> tuple[int, bool, Flat, int]:
    """Return where the piece before a label ends, whether it is turned in, and its own label.

    What is looked for is a piece at the label's very cost that is supported at least as far.
    """
    begin, kind = int(label.at[0]), int(label.kind[0])
    for overlap in np.flatnonzero(course.joints[begin] < NEVER).tolist():
        end, joint = begin + overlap + 1, int(course.joints[begin, overlap])
        free = course.passed[begin] == course.passed[end]
        for turned in (
            (False, True) if free and course.returns[end] >= 0 and kind != TURNED else (False,)
        ):
            pieces = arrivals(course, labels, end, int(course.returns[end]) if turned else 0)
            cost, reach = pieces.cost + joint, pieces.reach
            if turned:
                cost = cost + course.charge(course.place[end] - reach) + course.return_cost
                reach = np.full_like(reach, course.reach[end])
            elif kind in (LATE, TURNED):
                cost = cost + course.charge(course.place[begin] - reach)
                cost = cost + (course.return_cost if kind == TURNED else 0)
                reach = np.full_like(reach, label.reach[0])
            right = (cost == label.cost[0]) & ((reach >= label.reach[0]) | (not free))
            if right.any():
                return end, turned, pieces.source, _farthest(pieces, right)
    raise AssertionError("a label of the search has no piece before it")
