"""The best layout of one run as a mixed-integer model, solved by HiGHS.

Written from the objective in words, not from the solver: pieces are the arcs of a path along the
run, fixings the arcs of a second path, and a return is what couples the two. The first path pays
for pieces and mesh, the second for what lies beyond the reach of a fixing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise, product
from typing import NamedTuple

import highspy
import numpy as np

from service.calc.pieces import PieceRules, Run
from tests.outside.libraries.pieces_facts import (
    farthest,
    is_long_enough,
    return_mesh,
    too_near,
)


class Cut(NamedTuple):
    """A piece from `start` to `end`, and whether its two ends are turned in."""

    start: int
    end: int
    start_turned: bool
    end_turned: bool

    def returns(self) -> list[int]:
        """Return where an end of it is turned in."""
        return [self.start] * self.start_turned + [self.end] * self.end_turned


class Joint(NamedTuple):
    """Where one piece ends and the next begins before that, and which of both is turned in."""

    start: int
    end: int
    start_turned: bool
    end_turned: bool


class Line(NamedTuple):
    """The marks that pieces begin and end on when a run is worked from one start.

    `ends` is how many of the two ends of the line may be turned in, and `least_ends` how many
    must be; `cyclic` says that fixings follow on one another across the seam of a closed run.
    Where none can be made at the seam of a run without tabs, its two ends bound it like fixings.
    """

    marks: tuple[int, ...]
    ends: int
    least_ends: int
    cyclic: bool


def lines_of(run: Run, rules: PieceRules) -> Iterator[list[Line]]:
    """Yield each start as the lines to try for it: the first with a layout counts."""
    if not run.closed:
        yield [Line((*range(0, run.length_nm, rules.grid_nm), run.length_nm), 2, 0, cyclic=False)]
        return
    for start in run.starts_nm or (0,):
        yield lines_from(run, rules, start, setback_of(run, start))


def setback_of(run: Run, start: int) -> int:
    """Return how far the seam stays from the tab or corner that it starts at."""
    return max((each.distance_nm for each in run.keep_off if each.at_nm == start), default=0)


def lines_from(run: Run, rules: PieceRules, start: int, setback: int) -> list[Line]:
    """Return the lines to try for one start of a closed run."""
    grid, length, tab = rules.grid_nm, run.length_nm, start in run.tabs_nm
    seam = grid - length % grid
    while not is_long_enough(run, *seam_at(start, setback, seam, tab=tab)):
        seam += grid
    first = seam_at(start, setback, seam, tab=tab)[0]
    marks = tuple(range(first, first + length + seam + 1, grid))
    if run.tabs_nm or not is_limited(run):
        return [Line(marks, 0, 0, cyclic=True)]
    possible = return_mesh(run, first) is not None or return_mesh(run, marks[-1]) is not None
    turned = [Line(marks, 1, 1, cyclic=True)] if possible else []
    return [*turned, Line(marks, 0, 0, cyclic=False)]


def is_limited(run: Run) -> bool:
    """Return whether anywhere along a run fixings may be only so far apart."""
    return any(zone.span_nm is not None for zone in run.zones)


def seam_at(start: int, off: int, seam: int, *, tab: bool) -> tuple[int, int]:
    """Return the seam overlap: it ends before a tab, and begins after a corner."""
    return (start - off - seam, start - off) if tab else (start + off, start + off + seam)


def has_tab(run: Run, low: int, high: int) -> bool:
    """Return whether a rail crosses an overlap, which is then fixed there."""
    return any(on_run(run, place) in run.tabs_nm for place in range(low + 1, high + 1))


def possible_cuts(run: Run, rules: PieceRules, line: Line) -> Iterator[Cut]:
    """Yield every piece that can be cut and turned in."""
    ends = (line.marks[0], line.marks[-1])
    least = least_covered(run, rules)
    for start, end in combinations(line.marks, 2):
        covered = end - start
        if covered > rules.piece_nm or (covered < least and (start, end) != ends):
            continue
        for turned in product((False, True), repeat=2):
            cut = Cut(start, end, *turned)
            if can_be_turned(run, cut) and mesh_of(run, cut) <= rules.piece_nm:
                yield cut


def can_be_turned(run: Run, cut: Cut) -> bool:
    """Return whether returns are possible where a piece has them."""
    return all(return_mesh(run, place) is not None for place in cut.returns())


def possible_joints(run: Run, rules: PieceRules, line: Line) -> Iterator[Joint]:
    """Yield every joint of two pieces, with at most one return and none where a tab is.

    None is made within the seam overlap, where there would be three layers of mesh.
    """
    first = line.marks[0]
    seam_end = line.marks[-1] - run.length_nm if run.closed else first
    for end in line.marks[1:-1]:
        for overlap in overlaps_at(run, rules, end):
            start = end - overlap
            if start <= first:
                continue
            yield Joint(start, end, False, False)
            if not has_tab(run, start, end):
                if start >= seam_end:
                    yield Joint(start, end, True, False)
                if end >= seam_end:
                    yield Joint(start, end, False, True)


def overlaps_at(run: Run, rules: PieceRules, end: int) -> list[int]:
    """Return the overlaps that a piece's end may have with the next piece.

    One may be longer than the most only where a zone asks for just so much.
    """
    grid = rules.grid_nm
    longest = max(rules.most_lap_nm, *(on_grid(zone.lap_nm, grid) for zone in run.zones))
    return [
        overlap
        for overlap in range(grid, longest + 1, grid)
        if is_long_enough(run, end - overlap, end)
        and (overlap <= rules.most_lap_nm or not is_long_enough(run, end - overlap, end, less=grid))
    ]


def least_covered(run: Run, rules: PieceRules) -> int:
    """Return the least that a piece covers: its rule, and more than any overlap may be."""
    grid = rules.grid_nm
    needs = [on_grid(zone.lap_nm, grid) for zone in run.zones]
    longest = max(rules.most_lap_nm // grid * grid, *needs)
    return max(on_grid(rules.least_piece_nm, grid), longest + grid)


def on_grid(length: int, grid: int) -> int:
    """Return a length rounded up to the increment that pieces are cut on."""
    return -(-length // grid) * grid


def mesh_of(run: Run, cut: Cut) -> int:
    """Return the mesh that a piece is cut from."""
    return cut.end - cut.start + sum(return_mesh(run, at) or 0 for at in cut.returns())


def cost_of(run: Run, rules: PieceRules, cut: Cut) -> int:
    """Return what a piece costs in mesh."""
    mesh = mesh_of(run, cut)
    custom = rules.cut_weight_nm if mesh != rules.piece_nm else 0
    return mesh + custom + rules.return_weight_nm * len(cut.returns())


class Program:
    """A mixed-integer program that is put together column by column."""

    def __init__(self) -> None:
        self.costs: list[int] = []
        self.upper: list[int] = []
        self.columns: list[dict[int, int]] = []
        self.bounds: list[tuple[float, float]] = []

    def row(self, low: float, high: float) -> int:
        self.bounds.append((low, high))
        return len(self.bounds) - 1

    def column(self, cost: int, entries: dict[int, int]) -> int:
        self.costs.append(cost)
        self.columns.append(entries)
        return len(self.costs) - 1

    def solve(self) -> list[int] | None:
        """Return the value of each column; None where there is no answer."""
        if not self.costs:
            return None
        lp = highspy.HighsLp()
        count = len(self.costs)
        lp.num_col_, lp.num_row_ = count, len(self.bounds)
        lp.col_cost_ = np.array(self.costs, dtype=float)
        lp.col_lower_, lp.col_upper_ = np.zeros(count), np.ones(count)
        lp.integrality_ = [highspy.HighsVarType.kInteger] * count
        lp.row_lower_ = np.array([low for low, _ in self.bounds])
        lp.row_upper_ = np.array([high for _, high in self.bounds])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.cumsum([0, *map(len, self.columns)])
        lp.a_matrix_.index_ = np.array([row for each in self.columns for row in each])
        lp.a_matrix_.value_ = np.array([v for each in self.columns for v in each.values()], float)
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("threads", 1)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", 0.5)
        assert solver.passModel(lp) == highspy.HighsStatus.kOk
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        assert status == highspy.HighsModelStatus.kOptimal, status
        return [round(value) for value in solver.getSolution().col_value]


class Best(NamedTuple):
    """What a layout is judged by, in the order it is judged."""

    crowded: int
    unsupported: int
    pieces: int
    cost: int


class Model:
    """One run worked from one start; `crowd` lets overlaps lie on keep-off points at a price."""

    def __init__(self, run: Run, rules: PieceRules, line: Line, *, crowd: bool) -> None:
        self.run, self.rules, self.line, self.crowd = run, rules, line, crowd
        self.program = Program()
        self.cuts: dict[int, Cut] = {}
        self.joints: dict[int, Joint] = {}
        self.returns: dict[int, dict[int, int]] = {}
        """By place on the run: the columns that make a return there, and how many."""
        most = rules.piece_nm + rules.cut_weight_nm + 2 * rules.return_weight_nm
        self.piece_weight = 1 + len(line.marks) * most
        self.span_weight = self.piece_weight * len(line.marks)
        self.crowd_weight = self.span_weight * (run.length_nm + 1)

    def solve(self) -> tuple[Best, list[Cut]] | None:
        """Return the best layout from this start and its pieces; None where there is none."""
        seam = [] if not self.run.closed else too_near(self.run, *seam_of(self.run, self.line))
        if seam and not self.crowd:
            return None
        self.add_pieces()
        self.add_fixings()
        values = self.program.solve()
        if values is None:
            return None
        weight = sum(c for c, value in zip(self.program.costs, values, strict=True) if value)
        crowded, weight = divmod(weight, self.crowd_weight)
        beyond, weight = divmod(weight, self.span_weight)
        best = Best(len(seam) + crowded, beyond, *divmod(weight, self.piece_weight))
        return best, sorted(cut for column, cut in self.cuts.items() if values[column])

    def add_pieces(self) -> None:
        """Pieces and joints follow on one another from the first mark to the last."""
        run, rules, line = self.run, self.rules, self.line
        first, last = line.marks[0], line.marks[-1]
        nodes: dict[tuple[str, int, bool], int] = {}
        begun, ends = self.program.row(1, 1), self.program.row(line.least_ends, line.ends)
        for turned in (False, True):
            nodes |= {("start", at, turned): self.program.row(0, 0) for at in line.marks[1:]}
            nodes |= {("end", at, turned): self.program.row(0, 0) for at in line.marks[:-1]}
            nodes["start", first, turned] = begun
            nodes["end", last, turned] = self.program.row(-1, 0)
        for cut in possible_cuts(run, rules, line):
            entries = {
                nodes["start", cut.start, cut.start_turned]: 1,
                nodes["end", cut.end, cut.end_turned]: -1,
            }
            turned_ends = sum(place in (first, last) for place in cut.returns())
            entries |= {ends: turned_ends} if turned_ends else {}
            column = self.program.column(self.piece_weight + cost_of(run, rules, cut), entries)
            self.cuts[column] = cut
            for place in cut.returns():
                made = self.returns.setdefault(self.place(place), {})
                made[column] = made.get(column, 0) + 1
        for joint in possible_joints(run, rules, line):
            near = len(too_near(run, joint.start, joint.end))
            if self.crowd or not near:
                entries = {
                    nodes["end", joint.end, joint.end_turned]: 1,
                    nodes["start", joint.start, joint.start_turned]: -1,
                }
                column = self.program.column(self.crowd_weight * near, entries)
                self.joints[column] = joint
        self.order_returns()

    def order_returns(self) -> None:
        """Fixings come in the order of their joints, though overlaps may lie over each other."""
        ends: dict[int, list[int]] = {}
        starts: dict[int, list[int]] = {}
        for column, joint in self.joints.items():
            if joint.end_turned:
                ends.setdefault(joint.end, []).append(column)
            if joint.start_turned:
                starts.setdefault(joint.start, []).append(column)
        for (start, later), (end, earlier) in product(starts.items(), ends.items()):
            before = [column for column in earlier if self.joints[column].start < start]
            if start <= end and before:
                row = self.program.row(0, 1)
                for column in (*later, *before):
                    self.program.columns[column][row] = 1

    def place(self, at: int) -> int:
        return on_run(self.run, at) if self.line.cyclic else at

    def add_fixings(self) -> None:
        """Fixings follow on one another through every tab; a return need not be among them."""
        if not is_limited(self.run):
            return
        tabs = set(self.run.tabs_nm)
        flow, used = {}, {}
        for place in sorted(tabs | set(self.returns)):
            flow[place] = self.program.row(0, 0)
            used[place] = self.program.row(1, 1) if place in tabs else self.program.row(-np.inf, 0)
            for column, count in self.returns.get(place, {}).items():
                if place not in tabs:
                    self.program.columns[column][used[place]] = -count
        if self.line.cyclic:
            self.add_loop(flow, used)
        else:
            self.add_stretch(flow, used)

    def add_stretch(self, flow: dict[int, int], used: dict[int, int]) -> None:
        """The first fixing follows on one end of the line, and the other end on the last."""
        low, high = self.line.marks[0], self.line.marks[-1]
        first, last = self.program.row(1, 1), self.program.row(1, 1)
        self.program.column(self.span_weight * self.run.length_nm, {first: 1, last: 1})
        for place in flow:
            self.add_span(low, place, {first: 1, flow[place]: -1})
            self.add_span(place, high, {flow[place]: 1, used[place]: 1, last: 1})
            for after in flow:
                if after > place and not self.passes_tab(place, after):
                    entries = {flow[place]: 1, used[place]: 1, flow[after]: -1}
                    self.add_span(place, after, entries)

    def add_loop(self, flow: dict[int, int], used: dict[int, int]) -> None:
        length = self.run.length_nm
        once_round = self.program.row(length, length)
        for place, after in product(flow, flow):
            apart = (after - place - 1) % length + 1
            if self.passes_tab(place, place + apart):
                continue
            entries = {used[place]: 1, once_round: apart}
            if after != place:
                entries |= {flow[place]: 1, flow[after]: -1}
            self.add_span(place, place + apart, entries)
        if not self.run.tabs_nm:
            self.program.column(self.span_weight * length, {once_round: length})

    def passes_tab(self, low: int, high: int) -> bool:
        """Return whether a tab lies between two places, so that these are no neighbors."""
        turns = range(3) if self.run.closed else range(1)
        tabs = self.run.tabs_nm
        return any(low < tab + turn * self.run.length_nm < high for turn in turns for tab in tabs)

    def add_span(self, low: int, high: int, entries: dict[int, int]) -> None:
        beyond = max(0, high - farthest(self.run, low))
        self.program.column(self.span_weight * beyond, entries)


def on_run(run: Run, at: int) -> int:
    """Return a place as it is counted on the run: from 0 to the length of a closed one."""
    return at % run.length_nm if run.closed else at


def seam_of(run: Run, line: Line) -> tuple[int, int]:
    """Return where the last piece overlaps the first."""
    return line.marks[0], line.marks[-1] - run.length_nm


def overlaps_of(run: Run, line: Line, cuts: list[Cut]) -> list[tuple[int, int]]:
    """Return every overlap of a layout, that of the seam among them."""
    joints = [(after.start, before.end) for before, after in pairwise(cuts)]
    return [*([seam_of(run, line)] if run.closed else []), *joints]


class Answer(NamedTuple):
    """The best layout of a run, and the number of its start among the allowed ones."""

    best: Best
    start: int
    line: Line
    cuts: tuple[Cut, ...]


def best_layout(run: Run, rules: PieceRules) -> Answer | None:
    """Return the best layout of a run from the first start that gives it.

    Keep-off points are lapped over only where no start gives a layout without. None: no layout.
    """
    for crowd in (False, True):
        found = best_of_starts(run, rules, crowd=crowd)
        if found:
            return min(found)
    return None


def best_of_starts(run: Run, rules: PieceRules, *, crowd: bool) -> list[Answer]:
    """Return the best layout from each start that has one."""
    found = []
    for number, lines in enumerate(lines_of(run, rules)):
        for line in lines:
            solved = Model(run, rules, line, crowd=crowd).solve()
            if solved is not None:
                found.append(Answer(solved[0], number, line, tuple(solved[1])))
                break
    return found
