"""What is found without a search is what the search finds: cost, start, every break and return."""

from __future__ import annotations

import random
from collections import Counter

import msgspec
import pytest

from service.calc.layout.edges import loops_of
from service.calc.layout.lay import lay_out, outline_plane, piece_rules
from service.calc.layout.rails import rails_of
from service.calc.layout.runs import runs_of
from service.calc.outline import Module
from service.calc.pieces import KeepOff, PieceRules, Reach, Run, Zone, lay_pieces, relax
from service.calc.pieces.best import searched
from service.calc.pieces.bound import least_cost
from service.calc.pieces.tight import Tight, tight_layout
from service.calc.pieces.trace import Best
from service.calc.pieces.track import Track
from service.calc.pieces.turn import turned
from tests.load.bench_layout import plane
from tests.unit.make import baseline

BLOCKS, EACH = 10, 300
INCH = 25_400_000


def random_loop(rng: random.Random) -> tuple[Run, PieceRules]:
    """A loop with tabs and one zone: spans below and above a piece, on and off the grid."""
    grid = rng.choice([1, 2, 3])
    length = grid * rng.randint(12, 160) + (rng.choice([0, 0, -1, 1]) if grid > 1 else 0)
    lap, reach = grid * rng.choice([1, 1, 2, 3]), grid * rng.randint(4, 30)
    span = grid * rng.randint(3, 30)
    if rng.random() < 0.6:
        span = min(span, max(reach - grid, grid))
    usual, reaches, at = rng.choice([1, grid, 2 * grid, 3 * grid]), [], 0
    while at < length and rng.random() < 0.9:
        low = min(at + rng.randint(0, 4 * grid), length - 1)
        high = min(low + rng.randint(0, 40 * grid), length)
        turn = usual if rng.random() < 0.8 else rng.randint(1, 4 * grid)
        reaches.append(Reach(start_nm=low, end_nm=high, return_nm=turn))
        at = high + 1
    run = Run(
        length_nm=length,
        closed=True,
        zones=(Zone(start_nm=0, end_nm=length, lap_nm=lap, span_nm=span),),
        tabs_nm=tuple(sorted(rng.sample(range(length), k=rng.choice([1, 2, 2, 3, 4, 6])))),
        reaches=tuple(reaches),
        keep_off=tuple(
            KeepOff(at_nm=rng.randrange(length), distance_nm=rng.randint(0, 3 * grid))
            for _ in range(rng.choice([0, 1, 2, 4, 8]))
        ),
    )
    rules = PieceRules(
        piece_nm=lap + reach,
        grid_nm=grid,
        least_piece_nm=min(rng.choice([0, grid, 4 * grid]), lap + reach),
    )
    return run, rules


def array_run(rng: random.Random) -> Run:
    """The loop round an array of a usual size, of modules in inches or in millimetres."""
    sizes = [(40 * INCH, 66 * INCH), (1_134_000_000, 1_762_000_000), (1_046_000_000, 1_690_000_000)]
    wide, high = rng.choice(sizes)
    if rng.random() < 0.3:
        wide, high = high, wide
    gap = rng.choice([INCH // 2, 20_000_000])
    modules = [
        Module(x_nm=column * (wide + gap), y_nm=row * (high + gap), width_nm=wide, height_nm=high)
        for row in range(rng.randint(1, 4))
        for column in range(rng.randint(2, 12))
    ]
    rules, whole = baseline(), plane(modules)
    loops = loops_of(whole, outline_plane(whole, rules), rails_of(whole, rules.values), rules, None)
    [placed] = runs_of(loops, rules)
    return placed.run


def compare(run: Run, rules: PieceRules) -> str:
    """Lay a run out without and with the search; return what could be told without."""
    tight = tight_layout(Track(run, rules))
    if tight is None:
        return "untold"
    track = Track(run, rules)
    best = searched(track)
    if tight.best is None:
        assert not isinstance(best, Best) or best.cost >= tight.floor
        return "floor"
    assert tight.best == best
    assert tight.floor == tight.best.cost
    fewest = least_cost(track)
    kind = "least" if best.cost == fewest else "more"
    if any(end.return_nm for end in best.ends):
        kind += " with returns"
    return kind + " and a lap between" if hops_in(track, best) else kind


def hops_in(track: Track, best: Best) -> int:
    """How often two returns of a layout, too far apart for one piece, have a plain lap between."""
    longest = track.piece_nm - track.laps[0].lap_nm
    return sum(
        bool(first.return_nm and last.return_nm and not between.return_nm)
        and longest - last.return_nm < track.position(last.mark) - track.position(first.mark)
        and track.position(last.mark) <= track.reach_from(track.position(first.mark))
        for first, between, last in zip(best.ends, best.ends[1:], best.ends[2:], strict=False)
    )


@pytest.mark.parametrize("block", range(BLOCKS))
def test_random_loops_are_laid_out_as_the_search_lays_them_out(block):
    told = Counter(
        compare(*random_loop(random.Random(seed)))
        for seed in range(EACH * block, EACH * (block + 1))
    )
    assert told["least with returns"] + told["more with returns"] > 15, told
    assert any(kind.endswith("a lap between") for kind in told), told
    assert told["least"] + told["more"] > 10, told
    assert told["floor"] > 10, told


@pytest.mark.parametrize("block", range(4))
def test_most_arrays_are_laid_out_without_a_search_in_both_directions(block):
    rng, rules = random.Random(block), piece_rules(baseline().values)
    told: Counter[str] = Counter()
    for _ in range(20):
        run = array_run(rng)
        told[compare(run, rules)] += 1
        told[compare(turned(run, rules), rules)] += 1
    assert told["least with returns"] + told["more with returns"] > 20, told
    assert told["more with returns"], told
    assert told["floor"] + told["untold"] < 2, told


@pytest.mark.parametrize("block", range(4))
def test_answers_are_the_same_as_when_all_is_searched(block, monkeypatch):
    """Both directions, and what gives way where there is no place for a lap."""
    rng = random.Random(block)
    jobs = [random_loop(rng) for _ in range(60)]
    jobs += [(array_run(rng), piece_rules(baseline().values)) for _ in range(6)]
    asked = [(run, msgspec.structs.replace(rules, either_way=True)) for run, rules in jobs]
    answers = [lay_pieces(run, rules) for run, rules in asked]
    monkeypatch.setattr(relax, "tight_layout", lambda _track, _below=None: None)
    assert [lay_pieces(run, rules) for run, rules in asked] == answers
    assert any(answer.backward for answer in answers)


def test_only_what_costs_less_is_looked_for():
    run, rules = array_run(random.Random(1)), piece_rules(baseline().values)
    track = Track(run, rules)
    found = tight_layout(track)
    assert found is not None
    assert found.best is not None
    assert tight_layout(track, found.floor) == Tight(None, found.floor)
    overlong, pieces, mesh = found.floor
    assert tight_layout(track, (overlong, pieces, mesh + 1)) == found


def test_a_return_that_no_piece_can_hold_is_none():
    run = Run(
        length_nm=63,
        closed=True,
        zones=(Zone(start_nm=0, end_nm=63, lap_nm=3, span_nm=15),),
        tabs_nm=(0,),
        reaches=(Reach(start_nm=0, end_nm=63, return_nm=9),),
    )
    rules = PieceRules(piece_nm=18, grid_nm=3, least_piece_nm=12)
    assert tight_layout(Track(run, rules)) is None
    assert lay_pieces(run, rules).overlong
    held = msgspec.structs.replace(rules, least_piece_nm=9)
    assert tight_layout(Track(run, held)) is not None
    assert not lay_pieces(run, held).overlong


@pytest.mark.parametrize(
    ("rows", "columns", "pieces"), [(2, 5, 7), (3, 4, 8), (4, 4, 9), (2, 8, 10), (4, 11, 15)]
)
def test_plain_grids_are_laid_out_without_a_search(rows, columns, pieces, monkeypatch):
    """With the fewest pieces, with one more, and with plain laps between two returns."""
    modules = [
        Module(
            x_nm=column * 81 * INCH // 2, y_nm=row * 133 * INCH // 2, width_nm=WIDE, height_nm=HIGH
        )
        for row in range(rows)
        for column in range(columns)
    ]
    whole, rules = plane(modules), baseline()

    def refused(_track):
        raise AssertionError("this array is searched")

    monkeypatch.setattr(relax, "searched", refused)
    [run] = lay_out(whole, outline_plane(whole, rules), rules).runs
    assert len(run.pieces) == pieces


WIDE, HIGH = 40 * INCH, 66 * INCH
