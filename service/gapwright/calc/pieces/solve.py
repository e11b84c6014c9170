"""The best pieces from one start: a dynamic program that adds one piece after another.

What is known of a piece that begins at some place is how far the channel is supported from
there. In a few classes of labels, each with the least cost to get there:

- SECURE: up to the next tab, so that nothing before it matters any more;
- TAB: as far as the last tab reaches (or the start, where no tab came yet);
- LATE: not beyond this place; what it lacks from here on is charged at the next fixing;
- `turned`: as far as the return reaches that the piece itself has at its start;
- `earlier`: as far as an earlier return reaches, by that return and the place.

A piece that contains a tab forgets what was before it. Whether one piece can follow from
another is a matter of how far back it may begin, so the best is the least of a slice.
"""

from __future__ import annotations

import msgspec
import numpy as np
import numpy.typing as npt

from gapwright.calc.pieces.course import NEVER, Course
from gapwright.calc.pieces.zones import Ints

SECURE, TAB, LATE, TURNED, EARLIER = range(5)


class Flat(msgspec.Struct, frozen=True, kw_only=True):
    """The labels after one number of pieces, one after another.

    Each has its class, the place `at` where the next piece begins, the return that supports it
    (or -1), the place it is supported to, and its cost.
    """

    kind: Ints
    at: Ints
    fixing: Ints
    reach: Ints
    cost: Ints

    def pick(self, chosen: npt.NDArray[np.bool_]) -> Flat:
        """Return some of the labels."""
        return Flat(
            kind=self.kind[chosen],
            at=self.at[chosen],
            fixing=self.fixing[chosen],
            reach=self.reach[chosen],
            cost=self.cost[chosen],
        )


class Labels:
    """The labels after one number of pieces: of the places from `first`, by class.

    `earlier` has a row for each of the returns `fixings` that supports a piece further along. Its
    columns are places from `longest` before the return on: the piece may begin before it.
    """

    def __init__(self, course: Course, first: int, last: int, fixings: Ints, width: int) -> None:
        self.course, self.first, self.fixings = course, first, fixings
        count = max(last - first + 1, 0)
        self.plain = np.full((3, count), NEVER, np.int64)
        self.turned = np.full(count, NEVER, np.int64)
        self.earlier = np.full((len(fixings), width), NEVER, np.int64)

    @property
    def places(self) -> Ints:
        """Return the places of the labels in `plain` and `turned`."""
        return np.arange(self.first, self.first + len(self.turned))

    @property
    def earlier_places(self) -> Ints:
        """Return the places of the labels in `earlier`."""
        columns = np.arange(self.earlier.shape[1]) - self.course.longest
        return self.fixings[:, None] + columns

    def flat(self) -> Flat:
        """Return all labels that can be, one after another."""
        course = self.course
        kinds, at = np.nonzero(self.plain < NEVER)
        own = np.flatnonzero(self.turned < NEVER)
        row, column = np.nonzero(self.earlier < NEVER)
        cost = (self.plain[kinds, at], self.turned[own], self.earlier[row, column])
        at, own, fixing = at + self.first, own + self.first, self.fixings[row]
        passed = course.passed[at]
        supported = np.choose(
            kinds, (course.tab_place[passed], course.tab_reach[passed], course.place[at])
        )
        return Flat(
            kind=np.concatenate((kinds, np.full(len(own), TURNED), np.full(len(fixing), EARLIER))),
            at=np.concatenate((at, own, fixing + column - course.longest)),
            fixing=np.concatenate((np.full(len(at), -1), own, fixing)),
            reach=np.concatenate((supported, course.reach[own], course.reach[fixing])),
            cost=np.concatenate(cost),
        )


class Arrivals(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces that end at one place: the labels they come from, what they cost, what they leave."""

    source: Flat
    cost: Ints
    reach: Ints
    through: npt.NDArray[np.bool_]


def arrivals(course: Course, labels: Flat, end: int, return_nm: int = 0) -> Arrivals:
    """Return every piece from some labels to one end, which may take a return."""
    final = end == course.count
    covered = course.at[end] - course.at[labels.at]
    # one piece along the whole run is long enough, however short the run
    long_enough = (covered >= course.least * course.grid) | (final & (labels.at == 0))
    own = np.where(labels.kind == TURNED, course.returns[labels.at], 0)
    mesh = covered + own + return_nm
    fits = long_enough & (mesh <= course.whole_nm)
    labels = labels.pick(fits)
    mesh = mesh[fits]
    passed = course.passed[labels.at]
    now = len(course.tabs) if final else course.passed[end]
    through = passed < now
    late = course.charge(course.tab_place[passed] - labels.reach)
    if final and not course.fixed and course.limited and not return_nm:
        # nothing at all supports the run
        late = np.where(labels.kind == TAB, course.bare_cost, late)
    gaps = late + course.tab_gaps[now] - course.tab_gaps[passed + 1]
    cost = (
        labels.cost + mesh // course.unit_nm + np.where(mesh < course.whole_nm, course.cut_cost, 0)
    )
    return Arrivals(
        source=labels,
        cost=cost + np.where(through, gaps, 0),
        reach=np.where(through, course.tab_reach[now], labels.reach),
        through=through,
    )


def least_of_slices(values: Ints, first: Ints, last: Ints) -> Ints:
    """Return the least of `values[row, first:last + 1]` for each row and each pair of bounds."""
    rows, width = values.shape
    first, last = np.maximum(first, 0), np.minimum(last, width - 1)
    count = last - first + 1
    # the least of every slice as long as a power of 2; two of them cover any slice
    table = np.full((max(int(count.max(initial=1)), 1).bit_length(), rows, width), NEVER, np.int64)
    table[0] = values
    for power in range(1, len(table)):
        half = 1 << power - 1
        np.minimum(
            table[power - 1, :, :-half], table[power - 1, :, half:], out=table[power, :, :-half]
        )
    power = np.frexp(np.maximum(count, 1))[1] - 1
    row = np.arange(rows)[:, None]
    low = np.minimum(first, width - 1)
    high = np.maximum(last - (1 << power) + 1, 0)
    found = np.minimum(table[power, row, low], table[power, row, high])
    return np.where(count > 0, found, NEVER)


def least_back(values: Ints, near: int, far: int) -> Ints:
    """Return, for each column, the least of the columns from `far` to `near` before it."""
    found = np.full_like(values, NEVER)
    if near >= values.shape[1] or far < near:
        return found
    size, wanted = 1, min(far - near + 1, values.shape[1])
    slices = values.copy()
    while size < wanted:
        step = min(size, wanted - size)
        np.minimum(slices[:, step:], slices[:, :-step].copy(), out=slices[:, step:])
        size += step
    found[:, near:] = slices[:, : values.shape[1] - near]
    return found


def least_at(places: Ints, values: Ints, first: int, count: int) -> Ints:
    """Return the least of the values at each of `count` places from `first` on."""
    found = np.full(count, NEVER, np.int64)
    index = places - first
    inside = (values < NEVER) & (index >= 0) & (index < count)
    np.minimum.at(found, index[inside], values[inside])
    return found


class Ends:
    """The cost of all pieces that end at the places from `first` to `last`."""

    def __init__(self, labels: Labels, first: int, last: int, limit: int, width: int) -> None:
        self.labels, self.course, self.limit = labels, labels.course, limit
        self.width = width
        self.first, self.last = first, last
        self.at = np.arange(first, last + 1)
        self.turned_at = self.at[self.course.returns[self.at] >= 0]
        self.plain = np.full((3, len(self.at)), NEVER, np.int64)
        self.fixed = np.full(len(self.at), NEVER, np.int64)
        self.earlier = np.full((0, 0), NEVER, np.int64)
        self.places, self.fixings = self.earlier, np.empty(0, np.int64)
        self._within()
        self._through()
        self._from_returns()
        self.plain[self.plain >= limit] = NEVER
        self.fixed[self.fixed >= limit] = NEVER

    def _arrive(self, values: Ints, own: Ints, *, through: bool) -> tuple[Ints, Ints]:
        """Return the least cost of pieces to all plain ends, and to all that are returns.

        Each row of `values` has what its pieces cost before, and takes `own` mesh at the start.
        """
        course, labels = self.course, self.labels
        at = np.concatenate((self.at, self.turned_at))
        used = np.concatenate((np.zeros_like(self.at), course.returns[self.turned_at]))
        spare = course.whole_nm - own[:, None] - used
        back, odd = np.divmod(spare, course.grid)
        group = course.group_start[at]
        first, last = at - back, np.broadcast_to(at - course.least, back.shape)
        if through:
            last = np.minimum(last, group - 1)
        else:
            first = np.maximum(first, group)
        step = course.mesh(course.grid)
        values = np.where(values >= NEVER, NEVER, values - labels.places * step)
        least = least_of_slices(values, first - labels.first, last - labels.first)
        if course.cut_cost:
            exact = (odd == 0) & (first == at - back) & (first <= last) & (first >= labels.first)
            exact &= first < labels.first + values.shape[1]
            column = np.clip(first - labels.first, 0, values.shape[1] - 1)
            whole = np.where(exact, values[np.arange(len(values))[:, None], column], NEVER)
            least = np.minimum(least + course.cut_cost, whole)
        least += at * step + (own[:, None] + used) // course.unit_nm
        least[least >= NEVER // 2] = NEVER
        return least[:, : len(self.at)], least[:, len(self.at) :]

    def _by_return(self, values: Ints) -> tuple[Ints, Ints]:
        """Return rows of the labels that are turned, by the mesh of the return, and that mesh."""
        meshes = self.course.returns[self.labels.places]
        own = np.unique(meshes[values < NEVER])
        return np.where(meshes == own[:, None], values, NEVER), own

    def _turn(self, cost: Ints) -> None:
        """Note what it costs to make a return at the ends where one can be made."""
        number = self.turned_at - self.first
        self.fixed[number] = np.minimum(self.fixed[number], cost + self.course.return_cost)

    def _within(self) -> None:
        """Follow the pieces without a tab in them."""
        course, labels = self.course, self.labels
        places = labels.places
        plain = labels.plain.copy()
        plain[LATE] -= course.place[places] * course.late
        plain[labels.plain >= NEVER] = NEVER
        # what a LATE label lacks is charged from the start of the run here, and taken off again
        ends, turned = self._arrive(plain, np.zeros(3, np.int64), through=False)
        self.plain = np.minimum(self.plain, ends)
        secure = np.where(course.secure[places], labels.turned, NEVER)
        rows, own = self._by_return(secure)
        if len(own):
            ends, _ = self._arrive(rows, own, through=False)
            self.plain[SECURE] = np.minimum(self.plain[SECURE], ends.min(axis=0))
        if len(self.turned_at):
            here = self.turned_at
            reach = course.tab_reach[course.passed[here]]
            self._turn(turned[TAB] + course.charge(course.place[here] - reach))
            self._turn(turned[LATE] + course.place[here] * course.late)

    def _through(self) -> None:
        """Follow the pieces with a tab in them."""
        course, labels = self.course, self.labels
        places = labels.places
        passed = course.passed[places]
        ahead = course.tab_place[passed]
        gaps = course.tab_gaps[passed + 1]
        plain = labels.plain.copy()
        plain[TAB] += course.charge(ahead - course.tab_reach[passed])
        plain[LATE] += course.charge(ahead - course.place[places])
        least = plain.min(axis=0)
        if self.limit >= NEVER and len(labels.fixings):
            late = course.charge(course.next_place - course.reach)[labels.fixings]
            earlier = labels.earlier + late[:, None]
            by_place = least_at(labels.earlier_places, earlier, labels.first, len(least))
            least = np.minimum(least, by_place)
        rows, own = self._by_return(labels.turned)
        if len(own):
            rows = np.minimum(rows + course.charge(ahead - course.reach[places]), NEVER)
        rows = np.concatenate((np.minimum(least, NEVER)[None, :], rows))
        rows = np.where(rows >= NEVER, NEVER, rows - gaps)
        ends, turned = self._arrive(rows, np.concatenate(([0], own)), through=True)
        now = course.passed[self.at]
        cost = np.minimum(ends.min(axis=0) + course.tab_gaps[now], NEVER)
        kind = np.where(course.tab_secure[now], SECURE, TAB)
        every = np.arange(len(self.at))
        self.plain[kind, every] = np.minimum(self.plain[kind, every], cost)
        if len(self.turned_at):
            now, here = course.passed[self.turned_at], self.turned_at
            late = course.charge(course.place[here] - course.tab_reach[now])
            cost = turned.min(axis=0) + course.tab_gaps[now] + late
            self._turn(np.where(course.tab_secure[now], NEVER, cost))

    def _from_returns(self) -> None:
        """Follow the pieces whose support is a return further back, or at their own start."""
        course, labels = self.course, self.labels
        insecure = (labels.turned < NEVER) & ~course.secure[labels.places]
        turned = labels.places[insecure]
        self.fixings = fixings = np.union1d(labels.fixings, turned)
        if not len(fixings):
            return
        known = labels.earlier.shape[1]
        width = min(self.width, max(known, course.longest + 1) + course.steps)
        ends = fixings[:, None] + np.arange(width) - course.longest
        inside = (ends >= self.first) & (ends <= self.last)
        inside &= ends < course.group_end[fixings][:, None]
        self.places = ends = np.clip(ends, 0, course.count)
        step = course.mesh(course.grid)
        begun = np.full((len(fixings), width), NEVER, np.int64)
        rows = np.searchsorted(fixings, labels.fixings)
        begun[rows, :known] = np.where(
            labels.earlier < NEVER, labels.earlier - ends[rows, :known] * step, NEVER
        )
        own = np.full(len(fixings), NEVER, np.int64)
        own[np.searchsorted(fixings, turned)] = labels.turned[insecure]
        if course.chains:
            chained = self._chain(begun, own, ends, inside, 0)
            self.earlier = chained if (chained < NEVER).any() else self.earlier
        used = course.returns[ends]
        for return_nm in course.return_meshes:
            made = inside & (used == return_nm)
            if not made.any():
                continue
            cost = self._chain(begun, own, ends, made, return_nm)
            cost += course.charge(course.place[ends] - course.reach[fixings][:, None])
            by_place = least_at(ends, cost, self.first, len(self.at))
            by_place += course.return_cost + return_nm // course.unit_nm
            self.fixed = np.minimum(self.fixed, by_place)

    def _chain(
        self, begun: Ints, own: Ints, ends: Ints, wanted: npt.NDArray[np.bool_], return_nm: int
    ) -> Ints:
        """Return the least cost of pieces, by the return that supports them and their end."""
        course = self.course
        step, spare = course.mesh(course.grid), course.whole_nm - return_nm
        cost = least_back(begun, course.least, spare // course.grid) + course.cut_cost
        back = spare // course.grid
        if course.cut_cost and spare % course.grid == 0 and back >= course.least:
            cost[:, back:] = np.minimum(cost[:, back:], begun[:, : max(begun.shape[1] - back, 0)])
        cost += ends * step
        covered = ends - self.fixings[:, None]
        own_nm = course.returns[self.fixings][:, None]
        mesh = covered * course.grid + own_nm + return_nm
        fits = (covered >= course.least) & (mesh <= course.whole_nm)
        first = own[:, None] + (mesh - return_nm) // course.unit_nm
        first += np.where(mesh < course.whole_nm, course.cut_cost, 0)
        cost = np.minimum(cost, np.where(fits & (own < NEVER)[:, None], first, NEVER))
        return np.where(wanted & (cost < self.limit), cost, NEVER)


def follow(ends: Ends) -> Labels:
    """Return the labels where the next pieces begin, by every overlap and return that may be."""
    course = ends.course
    new = np.flatnonzero((ends.fixed < NEVER) & ~course.secure[ends.at])
    fixings = np.union1d(ends.at[new], ends.fixings if ends.earlier.size else ())
    width = max(course.longest, ends.earlier.shape[1])
    labels = Labels(course, ends.first - course.longest, ends.last, fixings.astype(np.int64), width)
    chained = np.full_like(ends.earlier, NEVER)
    row = np.searchsorted(fixings, ends.at[new])
    for overlaps in course.overlaps:
        begin = np.maximum(ends.at - overlaps, 0)
        cost = course.joints[begin, overlaps - 1]
        free = course.passed[begin] == course.passed[ends.at]
        secure = course.secure[ends.at]
        plain = np.minimum(ends.plain + cost, NEVER)
        fixed = np.where(free, np.minimum(ends.fixed + cost, NEVER), NEVER)
        # the next piece contains the tab in the overlap as well
        plain[SECURE] = np.where(free, plain[SECURE], plain[:LATE].min(axis=0))
        plain[SECURE] = np.minimum(plain[SECURE], np.where(secure, fixed, NEVER))
        plain[TAB:, ~free] = NEVER
        late = plain[LATE] + course.place[begin] * course.late
        plain[LATE] = np.where(plain[LATE] < NEVER, late, NEVER)
        low = course.longest - overlaps
        columns = slice(low, low + len(ends.at))
        labels.plain[:, columns] = np.minimum(labels.plain[:, columns], plain)
        labels.earlier[row, low] = fixed[new]
        if chained.size:
            begin = np.maximum(ends.places[:, overlaps:] - overlaps, 0)
            moved = ends.earlier[:, overlaps:] + course.joints[begin, overlaps - 1]
            chained[:, :-overlaps] = np.minimum(chained[:, :-overlaps], moved)
    places = np.clip(labels.places, 0, course.count)
    support = course.tab_reach[course.passed[places]]
    turned = labels.plain[TAB] + course.charge(course.place[places] - support)
    turned = np.minimum(turned, labels.plain[LATE])
    if chained.size:
        turned = np.minimum(turned, _chain_on(labels, ends, chained))
    can = (course.returns[places] >= 0) & (turned < NEVER)
    labels.turned = np.where(can, turned + course.return_cost, NEVER)
    return labels


def _chain_on(labels: Labels, ends: Ends, chained: Ints) -> Ints:
    """Take over what returns further back support; return the cost to end their support."""
    course = labels.course
    begin, fixings = ends.places, ends.fixings[:, None]
    late = course.charge(course.place[begin] - course.reach[fixings])
    cost = np.minimum(chained + late, NEVER)
    holds = course.place[begin] < course.reach[fixings]
    rows = np.searchsorted(labels.fixings, ends.fixings)
    labels.earlier[rows] = np.minimum(labels.earlier[rows], np.where(holds, cost, NEVER))
    first, count = labels.first, len(labels.turned)
    spent = least_at(begin, np.where(holds, NEVER, cost), first, count)
    labels.plain[LATE] = np.minimum(labels.plain[LATE], spent)
    return least_at(begin, np.where(begin > fixings, cost, NEVER), first, count)
