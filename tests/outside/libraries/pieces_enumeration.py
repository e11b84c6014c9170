"""Every layout of a tiny run, one by one, and the best of them: what proves the exact model."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from gapwright.calc.pieces import PieceRules, Run

from tests.outside.libraries.pieces_facts import too_near
from tests.outside.libraries.pieces_model import (
    Best,
    Cut,
    Line,
    cost_of,
    on_run,
    overlaps_of,
    possible_cuts,
    possible_joints,
)


class Enumeration:
    """Every sequence of pieces along one line."""

    def __init__(self, run: Run, rules: PieceRules, line: Line) -> None:
        self.line = line
        self.cuts: dict[tuple[int, bool], list[Cut]] = {}
        self.joints: dict[tuple[int, bool], list[tuple[int, bool]]] = {}
        for cut in possible_cuts(run, rules, line):
            self.cuts.setdefault((cut.start, cut.start_turned), []).append(cut)
        for joint in possible_joints(run, rules, line):
            after = (joint.start, joint.start_turned)
            self.joints.setdefault((joint.end, joint.end_turned), []).append(after)

    def layouts(self) -> Iterator[list[Cut]]:
        """Yield every layout from the first mark to the last."""
        for turned in (False, True):
            for layout in self.onward(self.line.marks[0], turned):
                ends = turned + layout[-1].end_turned
                if self.line.least_ends <= ends <= self.line.ends and in_order(layout):
                    yield layout

    def onward(self, at: int, turned: bool) -> Iterator[list[Cut]]:
        for cut in self.cuts.get((at, turned), []):
            if cut.end == self.line.marks[-1]:
                yield [cut]
            for after in self.joints.get((cut.end, cut.end_turned), []):
                for rest in self.onward(*after):
                    yield [cut, *rest]


def in_order(layout: list[Cut]) -> bool:
    """Return whether returns at joints follow on one another as the joints do."""
    places = [
        joint
        for before, after in pairwise(layout)
        for joint in [before.end] * before.end_turned + [after.start] * after.start_turned
    ]
    return all(before < after for before, after in pairwise(places))


def judged(run: Run, rules: PieceRules, line: Line, cuts: list[Cut]) -> Best:
    """Return what a layout is judged by; unsupported length by walking the run."""
    return Best(
        crowded=sum(len(too_near(run, *overlap)) for overlap in overlaps_of(run, line, cuts)),
        unsupported=walked(run, line, [at for cut in cuts for at in cut.returns()]),
        pieces=len(cuts),
        cost=sum(cost_of(run, rules, cut) for cut in cuts),
    )


def walked(run: Run, line: Line, returns: list[int]) -> int:
    """Return how many units of the run lie beyond the reach of the fixing before them.

    A unit does where the stretch from the fixing to its far end is longer than the span of some
    zone that the stretch touches.
    """
    if all(zone.span_nm is None for zone in run.zones):
        return 0
    fixed = {on_run(run, at) if line.cyclic else at for at in (*run.tabs_nm, *returns)}
    if not fixed:
        return run.length_nm
    first, last = line.marks[0], line.marks[-1]
    if line.cyclic:
        first, last = min(fixed), min(fixed) + run.length_nm
    lost, since = 0, 0
    spans: list[int] = []
    for unit in range(first, last):
        place = on_run(run, unit)
        if (place if line.cyclic else unit) in fixed:
            since, spans = 0, []
        zone = next(zone for zone in run.zones if zone.start_nm <= place < zone.end_nm)
        spans += [zone.span_nm] if zone.span_nm is not None else []
        since += 1
        lost += since > min(spans, default=since)
    return lost


def best_of_all(run: Run, rules: PieceRules, line: Line, *, crowd: bool) -> Best | None:
    """Return what the best layout from a start is judged by; None where there is none."""
    found = [judged(run, rules, line, cuts) for cuts in Enumeration(run, rules, line).layouts()]
    return min((best for best in found if crowd or not best.crowded), default=None)
