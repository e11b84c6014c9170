"""What is true of every layout, whatever the run."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import msgspec
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from service.calc.pieces import KeepOff, PieceLayout, PieceRules, Reach, Run, Zone, lay_pieces
from service.calc.pieces.bound import least_cost
from service.calc.pieces.relax import laid
from service.calc.pieces.turn import turned

IN = 25_400_000
SIXTEENTH = IN // 16


@st.composite
def runs(draw, *, closed=None, off_grid=True, zoned=True):
    """Runs of up to 60 ft with bare edges, tabs, zones and points, in sixteenths of an inch."""
    inches = draw(st.integers(30, 720))
    length = inches * IN + (draw(st.integers(0, 15)) * SIXTEENTH if off_grid else 0)
    cuts = draw(st.sets(st.integers(1, inches - 1), max_size=3 if zoned else 0))
    lap, span = draw(st.integers(2, 6)), draw(st.integers(48, 96))
    zones = tuple(
        Zone(
            start_nm=low,
            end_nm=high,
            lap_nm=(draw(st.integers(2, 6)) if zoned else lap) * IN,
            span_nm=(draw(st.integers(48, 96)) if zoned else span) * IN,
        )
        for low, high in pairwise([0, *(cut * IN for cut in sorted(cuts)), length])
    )
    places = st.integers(0, inches * 16 - 1).map(lambda at: at * SIXTEENTH)
    tabs = draw(st.sets(places, max_size=12))
    bounds = sorted(draw(st.sets(places, max_size=6)))
    reaches = tuple(
        Reach(start_nm=low, end_nm=high, return_nm=draw(st.integers(8, 40)) * IN)
        for low, high in zip(bounds[::2], bounds[1::2], strict=False)
    )
    points = draw(st.lists(st.tuples(places, st.integers(0, 8)), max_size=4))
    return Run(
        length_nm=length,
        closed=draw(st.booleans()) if closed is None else closed,
        zones=zones,
        tabs_nm=tuple(sorted(tabs)),
        reaches=reaches,
        keep_off=tuple(KeepOff(at_nm=at, distance_nm=far * IN) for at, far in points),
        start_nm=draw(places),
    )


RULES = st.builds(
    PieceRules,
    piece_nm=st.integers(60, 120).map(lambda length: length * IN),
    grid_nm=st.just(IN),
    least_piece_nm=st.integers(0, 30).map(lambda length: length * IN),
)
SOME = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.filter_too_much])


def measure(layout: PieceLayout) -> tuple[int, ...]:
    """What decides between layouts, as far as the layout itself tells it."""
    return len(layout.pieces), layout.mesh_nm, len(layout.overlong), len(layout.returns)


def fixings(run: Run, layout: PieceLayout) -> list[int]:
    return sorted({*run.tabs_nm, *(made.at_nm for made in layout.returns)})


def spans(run: Run, layout: PieceLayout) -> list[tuple[int, int]]:
    fixed = fixings(run, layout)
    if not run.closed:
        return list(pairwise(sorted({0, *fixed, run.length_nm})))
    return list(pairwise([*fixed, fixed[0] + run.length_nm])) if fixed else []


def tightest(run: Run, low: int, high: int) -> int:
    turns = (0, run.length_nm) if run.closed else (0,)
    return min(
        zone.span_nm
        for zone in run.zones
        for turn in turns
        if low < zone.end_nm + turn and zone.start_nm + turn < high and zone.span_nm
    )


@SOME
@given(runs(), RULES)
def test_every_span_is_within_the_rule_or_reported(run, rules):
    layout = lay_pieces(run, rules)
    assume(layout.pieces and fixings(run, layout))
    reported = {(span.start_nm, span.end_nm): span.span_nm for span in layout.overlong}
    over = {
        (low, high % run.length_nm if run.closed else high): tightest(run, low, high)
        for low, high in spans(run, layout)
        if high - low > tightest(run, low, high)
    }
    assert reported == over


@SOME
@given(runs(), RULES)
def test_pieces_follow_on_one_another_and_cover_the_run_exactly(run, rules):
    layout = lay_pieces(run, rules)
    around = layout.pieces + layout.pieces[:1] if run.closed else layout.pieces
    for before, after in pairwise(around):
        assert (before.end_nm - after.lap_nm - after.start_nm) % run.length_nm == 0
    covered = [piece.cut_nm - (piece.return_nm or 0) for piece in layout.pieces]
    assert sum(covered) - sum(piece.lap_nm for piece in layout.pieces) == run.length_nm
    assert all(
        (piece.end_nm - piece.start_nm - cover) % run.length_nm == 0
        for piece, cover in zip(layout.pieces, covered, strict=True)
    )
    if not run.closed:
        assert layout.pieces[0].start_nm == 0
        assert layout.pieces[-1].end_nm == run.length_nm


@SOME
@given(runs(), RULES)
def test_every_piece_can_be_cut_and_is_no_shorter_than_the_least(run, rules):
    layout = lay_pieces(run, rules)
    assert layout.mesh_nm == sum(piece.cut_nm for piece in layout.pieces)
    for piece in layout.pieces:
        assert piece.cut_nm <= rules.piece_nm
        covered = piece.cut_nm - (piece.return_nm or 0)
        whole = run.length_nm + (piece.lap_nm if run.closed else 0)
        assert covered > piece.lap_nm
        assert layout.short_pieces or covered >= min(rules.least_piece_nm, whole)


@SOME
@given(runs(), RULES)
def test_every_lap_is_as_long_as_its_zones_ask_and_stands_on_the_tape(run, rules):
    turns = (-run.length_nm, 0) if run.closed else (0,)
    for lap in lay_pieces(run, rules).laps:
        end = lap.end_nm or run.length_nm
        asked = max(
            zone.lap_nm
            for zone in run.zones
            for turn in turns
            if end - lap.lap_nm < zone.end_nm + turn and zone.start_nm + turn < end
        )
        assert asked <= lap.lap_nm
        assert lap.lap_nm % rules.grid_nm == lap.end_nm % rules.grid_nm == 0


@SOME
@given(runs(), RULES)
def test_laps_keep_off_every_point_that_they_do_not_own_up_to(run, rules):
    layout = lay_pieces(run, rules)
    for lap in layout.laps:
        for point in run.keep_off:
            past = lap.end_nm - (point.at_nm - point.distance_nm)
            past = past % run.length_nm if run.closed else past
            clear = not 0 < past < 2 * point.distance_nm + lap.lap_nm
            assert clear != (point.at_nm in lap.too_near_nm)
    assert layout.conflicts or not any(lap.too_near_nm for lap in layout.laps)


@SOME
@given(runs(), RULES)
def test_returns_are_made_only_where_a_rail_is_in_reach(run, rules):
    layout = lay_pieces(run, rules)
    for made in layout.returns:
        assert layout.pieces[made.piece].end_nm == made.at_nm
        lengths = [
            reach.return_nm for reach in run.reaches if reach.start_nm <= made.at_nm <= reach.end_nm
        ]
        assert made.return_nm == min(lengths)


@SOME
@given(runs(closed=True, off_grid=False), RULES, st.integers(0, 719))
def test_a_loop_costs_the_same_wherever_its_origin_is(run, rules, inches):
    moved = rotated(run, inches * IN % run.length_nm)
    here, there = lay_pieces(run, rules), lay_pieces(moved, rules)
    assume(not here.conflicts)
    assert measure(here)[:2] == measure(there)[:2]
    assert bool(here.overlong) == bool(there.overlong)


@SOME
@given(runs(off_grid=False), RULES)
def test_a_mirrored_run_costs_the_same_if_the_work_may_go_either_way(run, rules):
    rules = msgspec.structs.replace(rules, either_way=True)
    here, there = lay_pieces(run, rules), lay_pieces(mirrored(run), rules)
    assume(not here.conflicts)
    assert measure(here)[:2] == measure(there)[:2]
    assert bool(here.overlong) == bool(there.overlong)


@SOME
@given(runs(), RULES)
def test_the_better_direction_is_taken_and_a_piece_then_ends_before_it_begins(run, rules):
    onward = lay_pieces(run, rules)
    either = lay_pieces(run, msgspec.structs.replace(rules, either_way=True))
    assume(not onward.conflicts and not onward.overlong)
    assert measure(either)[:2] <= measure(onward)[:2]
    assert either.backward == (measure(either)[:2] < measure(onward)[:2])
    if either.backward and not run.closed:
        assert either.pieces[0].start_nm == run.length_nm
        assert either.pieces[-1].end_nm == 0
        assert all(piece.end_nm < piece.start_nm for piece in either.pieces)
        assert all(lap.end_nm % rules.grid_nm == 0 for lap in either.laps)


def test_the_other_direction_is_spared_only_where_it_is_no_better():
    rng, backward = Random(4), 0
    for _ in range(120):
        run = lopsided(rng)
        nudge = 0 if run.closed else -run.length_nm % IN
        ways = [laid(run, SPARING), laid(turned(run, SPARING), SPARING, nudge)]
        if any(way.best is None or way.conflicts for way in ways):
            continue
        either = lay_pieces(run, SPARING)
        best = min(way.best.cost for way in ways)
        assert (len(either.pieces), either.mesh_nm - run.length_nm) == best[1:]
        backward += either.backward
    assert backward > 5


SPARING = PieceRules(piece_nm=120 * IN, grid_nm=IN, least_piece_nm=24 * IN, either_way=True)


def lopsided(rng: Random) -> Run:
    """A run with few tabs, and a rail in reach of one part of it more nearly than of the rest."""
    length, part = rng.randrange(300, 600), rng.randrange(100, 200)
    closed = rng.random() < 0.5
    tabs = sorted(rng.sample(range(length), 2))
    points = [*tabs, *rng.sample(range(length), 4)]
    return Run(
        length_nm=length * IN,
        closed=closed,
        zones=(Zone(start_nm=0, end_nm=length * IN, lap_nm=6 * IN, span_nm=96 * IN),),
        tabs_nm=tuple(tab * IN for tab in tabs),
        reaches=(
            Reach(start_nm=0, end_nm=part * IN, return_nm=12 * IN),
            Reach(start_nm=part * IN, end_nm=length * IN, return_nm=34 * IN),
        ),
        keep_off=tuple(KeepOff(at_nm=at * IN, distance_nm=6 * IN) for at in points),
    )


@SOME
@given(runs(), RULES)
def test_no_layout_costs_less_than_the_bound_in_either_direction(run, rules):
    for way in (run, turned(run, rules)):
        found = laid(way, rules, 0 if run.closed else -run.length_nm % rules.grid_nm)
        if found.best is None or found.best.lacking_nm:
            continue
        assert least_cost(found.track) <= found.best.cost


@SOME
@given(runs(), RULES)
def test_longer_pieces_are_never_worse(run, rules):
    longer = msgspec.structs.replace(rules, piece_nm=rules.piece_nm + 12 * IN)
    here, there = lay_pieces(run, rules), lay_pieces(run, longer)
    assume(not here.conflicts and not here.overlong)
    assert there.overlong == ()
    assert (len(there.pieces), there.mesh_nm) <= (len(here.pieces), here.mesh_nm)


@SOME
@given(runs(), RULES)
def test_one_more_tab_never_costs_anything(run, rules):
    here = lay_pieces(run, rules)
    assume(not here.conflicts and not here.overlong)
    middle = run.length_nm // 2
    there = lay_pieces(
        msgspec.structs.replace(run, tabs_nm=tuple(sorted({*run.tabs_nm, middle}))), rules
    )
    assert there.overlong == ()
    assert (len(there.pieces), there.mesh_nm) <= (len(here.pieces), here.mesh_nm)


def rotated(run: Run, by: int) -> Run:
    """The same loop, its origin moved forward."""
    length = run.length_nm
    zones = []
    for zone in run.zones:
        for turn in (0, length):
            low, high = zone.start_nm - by + turn, zone.end_nm - by + turn
            if max(low, 0) < min(high, length):
                part = {"start_nm": max(low, 0), "end_nm": min(high, length)}
                zones.append(msgspec.structs.replace(zone, **part))
    return msgspec.structs.replace(
        run,
        zones=tuple(sorted(zones, key=lambda zone: zone.start_nm)),
        tabs_nm=tuple(sorted((tab - by) % length for tab in run.tabs_nm)),
        reaches=tuple(
            msgspec.structs.replace(
                reach,
                start_nm=(reach.start_nm - by) % length,
                end_nm=(reach.start_nm - by) % length + reach.end_nm - reach.start_nm,
            )
            for reach in run.reaches
        ),
        keep_off=tuple(
            msgspec.structs.replace(point, at_nm=(point.at_nm - by) % length)
            for point in run.keep_off
        ),
    )


def mirrored(run: Run) -> Run:
    """The run as it is read from its other end."""
    length = run.length_nm
    replace = msgspec.structs.replace
    return replace(
        run,
        zones=tuple(
            replace(zone, start_nm=length - zone.end_nm, end_nm=length - zone.start_nm)
            for zone in reversed(run.zones)
        ),
        tabs_nm=tuple(
            sorted((length - tab) % length if run.closed else length - tab for tab in run.tabs_nm)
        ),
        reaches=tuple(
            replace(
                reach,
                start_nm=(length - reach.end_nm) % length if run.closed else length - reach.end_nm,
                end_nm=length - reach.start_nm
                if not run.closed or (length - reach.end_nm) % length
                else reach.end_nm - reach.start_nm,
            )
            for reach in run.reaches
        ),
        keep_off=tuple(replace(point, at_nm=length - point.at_nm) for point in run.keep_off),
    )
