"""Every layout of tiny runs, one by one: none is better than the one that is found."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import combinations, pairwise

import pytest

from service.calc.pieces import KeepOff, PieceLayout, PieceRules, Reach, Run, Zone, lay_pieces
from service.calc.pieces.best import best_layout
from service.calc.pieces.trace import Best
from service.calc.pieces.track import Track

GRID, LAP = 4, 4


def tiny_run(seed: int) -> tuple[Run, PieceRules]:
    """One zone, at most seven marks; whole numbers, no unit."""
    rng = random.Random(seed)
    length = rng.randint(9, 28)
    start = rng.randrange(length)
    reach = Reach(
        start_nm=start, end_nm=rng.randint(start, length), return_nm=rng.choice([2, 5, 9])
    )
    zone = Zone(start_nm=0, end_nm=length, lap_nm=LAP, span_nm=rng.choice([6, 10, 14]))
    point = KeepOff(at_nm=rng.randrange(length), distance_nm=rng.choice([0, 1, 3]))
    return Run(
        length_nm=length,
        closed=rng.random() < 0.6,
        zones=(zone,),
        tabs_nm=tuple(sorted(rng.sample(range(length), k=rng.choice([1, 1, 2, 3])))),
        reaches=(reach,) if rng.random() < 0.8 else (),
        keep_off=(point,) if rng.random() < 0.5 else (),
    ), PieceRules(piece_nm=rng.randint(9, 20), grid_nm=GRID, least_piece_nm=rng.choice([0, 8]))


def every_layout(run: Run) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every choice of breaks on the tape, and of returns among those with a rail in reach."""
    marks = range(0 if run.closed else GRID, run.length_nm, GRID)
    far_end = () if run.closed else (run.length_nm,)
    for count in range(len(marks) + 1):
        for chosen in combinations(marks, count):
            breaks = chosen + far_end
            reached = [at for at in breaks if return_at(run, at) is not None]
            for turned in range(len(reached) + 1):
                for returns in combinations(reached, turned):
                    if breaks:
                        yield breaks, returns


def return_at(run: Run, at: int) -> int | None:
    for reach in run.reaches:
        turns = (0, run.length_nm) if run.closed else (0,)
        if any(reach.start_nm <= at + turn <= reach.end_nm for turn in turns):
            return reach.return_nm
    return None


def pieces_of(run: Run, breaks: tuple[int, ...]) -> list[tuple[int, int]]:
    """What each piece covers, from its beginning to the break it ends at."""
    if not run.closed:
        starts = [0, *(at - LAP for at in breaks[:-1])]
        return list(zip(starts, breaks, strict=True))
    before = [breaks[-1] - run.length_nm, *breaks[:-1]]
    return [(at - LAP, end) for at, end in zip(before, breaks, strict=True)]


def can_be_made(
    run: Run, rules: PieceRules, breaks: tuple[int, ...], returns: tuple[int, ...]
) -> bool:
    pieces = pieces_of(run, breaks)
    whole = run.length_nm + (LAP if run.closed else 0)
    least = min(max(rules.least_piece_nm, LAP + 1), whole)
    for start, end in pieces:
        mesh = end - start + (return_at(run, end) or 0 if end in returns else 0)
        if end - start < least or mesh > rules.piece_nm:
            return False
    laps = [(end - LAP, end) for end in (breaks if run.closed else breaks[:-1])]
    turns = (-run.length_nm, 0, run.length_nm) if run.closed else (0,)
    return all(
        end + point.distance_nm <= point.at_nm + turn
        or point.at_nm + turn <= start - point.distance_nm
        for start, end in laps
        for point in run.keep_off
        for turn in turns
    )


def cost_of(
    run: Run, tabs: list[int], breaks: tuple[int, ...], returns: tuple[int, ...]
) -> tuple[int, int, int]:
    bounds = sorted({*tabs, *returns, *(() if run.closed else (0, run.length_nm))})
    if run.closed:
        bounds.append(bounds[0] + run.length_nm)
    around = [*breaks, *(at + run.length_nm for at in breaks)] if run.closed else breaks[:-1]
    overlong = 0
    for low, high in pairwise(bounds):
        if high - low > (run.zones[0].span_nm or 0):
            plain = [at for at in around if low <= at < high and at % run.length_nm not in returns]
            overlong += 1 + len(plain)
    mesh = sum(end - start for start, end in pieces_of(run, breaks))
    return overlong, len(breaks), mesh + sum(return_at(run, at) or 0 for at in returns)


def chosen(layout: PieceLayout) -> tuple[tuple[int, ...], tuple[int, ...]]:
    breaks = tuple(sorted(piece.end_nm for piece in layout.pieces))
    return breaks, tuple(sorted(made.at_nm for made in layout.returns))


def counted_on_the_way(run: Run, rules: PieceRules) -> tuple[int, int, int]:
    """What the search itself says its layout costs, with the mesh that the run takes."""
    best = best_layout(Track(run, rules))
    assert isinstance(best, Best)
    overlong, pieces, mesh = best.cost
    return overlong, pieces, mesh + run.length_nm


@pytest.mark.parametrize("block", range(10))
def test_no_layout_of_a_tiny_run_is_better(block):
    laid_out = 0
    for seed in range(40 * block, 40 * block + 40):
        run, rules = tiny_run(seed)
        layout = lay_pieces(run, rules)
        lacking = [at for span in layout.overlong for at in span.lacking_nm]
        tabs = sorted({*run.tabs_nm, *lacking})
        costs = [
            cost_of(run, tabs, breaks, returns)
            for breaks, returns in every_layout(run)
            if can_be_made(run, rules, breaks, returns)
        ]
        assert bool(costs) == (not layout.conflicts), seed
        if costs:
            laid_out += 1
            assert can_be_made(run, rules, *chosen(layout)), seed
            assert cost_of(run, tabs, *chosen(layout)) == min(costs), seed
            assert counted_on_the_way(run, rules) == min(costs), seed
    assert laid_out > 10
