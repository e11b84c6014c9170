"""Layouts of pieces against an exact model (HiGHS), and each of them against a validator.

The model is itself checked against every layout of tiny runs. All lengths are small whole
numbers and the objective is whole, so there is no tolerance.

For as many runs as wanted: python -m tests.load.pieces_exact --runs 1000
"""

from __future__ import annotations

import msgspec
import pytest
from gapwright.calc.pieces import Overlong, lay_pieces

from tests.outside.libraries.pieces_enumeration import best_of_all, judged
from tests.outside.libraries.pieces_model import Model, best_layout, lines_of
from tests.outside.libraries.pieces_runs import random_case, rotated, scaled, tiny_case
from tests.outside.libraries.pieces_validator import (
    disagreement,
    faults,
    layout_of,
    measured,
)


@pytest.mark.parametrize("crowd", [False, True])
def test_the_model_finds_what_trying_every_layout_finds(crowd):
    kinds = set()
    for seed in range(80):
        run, rules = tiny_case(seed)
        for line in (line for lines in lines_of(run, rules) for line in lines):
            found = Model(run, rules, line, crowd=crowd).solve()
            assert (found and found[0]) == best_of_all(run, rules, line, crowd=crowd), seed
            if found:
                assert judged(run, rules, line, found[1]) == found[0], seed
            kinds.add((run.closed, line.cyclic, bool(found and found[0].unsupported)))
    assert len(kinds) == 6


@pytest.mark.parametrize("block", range(3))
def test_no_layout_is_better_and_each_keeps_the_rules(block):
    kinds = set()
    for seed in range(20 * block, 20 * block + 20):
        run, rules = random_case(seed, longest_side=24)
        assert disagreement(run, rules) is None, seed
        kinds.add((run.closed, bool(lay_pieces(run, rules).overlong)))
    assert len(kinds) == 4


def test_a_run_in_a_smaller_unit_has_the_same_layout():
    """In nanometers, too, where a foot is 304,800,000."""
    for seed in range(60):
        run, rules = random_case(seed)
        layout = lay_pieces(run, rules)
        for factor in (7, 76_200_000):
            longer = lay_pieces(scaled(run, factor), scaled(rules, factor))
            assert longer == scaled(layout, factor), (seed, factor)


def test_a_loop_has_the_same_layout_wherever_its_origin_is():
    kinds = set()
    for seed in range(200):
        run, rules = random_case(seed)
        if not run.closed or len(run.zones) > 1:
            continue
        layout = lay_pieces(run, rules)
        for by in (1, run.length_nm // 3):
            turned = rotated(run, by)
            other = lay_pieces(turned, rules)
            assert measured(turned, rules, other) == measured(run, rules, layout), (seed, by)
            if layout.pieces:
                moved = (layout.pieces[0].start_nm + by) % run.length_nm
                assert other.pieces[0].start_nm == moved, (seed, by)
        kinds.add((bool(run.tabs_nm), bool(layout.overlong)))
    assert len(kinds) == 4


def test_the_validator_passes_the_model_and_finds_what_is_spoiled():
    spoiled = 0
    for seed in range(40):
        run, rules = random_case(seed, longest_side=16)
        answer = best_layout(run, rules)
        if answer is None or answer.best.crowded:
            continue
        layout = layout_of(run, rules, answer.line, answer.cuts)
        assert faults(run, rules, layout) == [], seed
        for other in spoilings(run, layout):
            assert faults(run, rules, other) != [], (seed, other)
            spoiled += 1
    assert spoiled > 150


def spoilings(run, layout):
    """Yield a layout with one thing in it changed."""
    replace = msgspec.structs.replace
    first, *others = layout.pieces
    yield replace(layout, pieces=(replace(first, cut_nm=first.cut_nm + 1), *others))
    yield replace(layout, pieces=(replace(first, start_nm=first.start_nm + 1), *others))
    if others:
        yield replace(layout, pieces=(first, *others[:-1]))
        yield replace(layout, overlaps=layout.overlaps[1:])
        moved = replace(others[0], overlap_nm=others[0].overlap_nm + 1)
        yield replace(layout, pieces=(first, moved, *others[1:]))
    if layout.returns:
        yield replace(layout, returns=layout.returns[1:])
        made = replace(layout.returns[0], return_nm=layout.returns[0].return_nm + 1)
        yield replace(layout, returns=(made, *layout.returns[1:]))
    if layout.overlong:
        yield replace(layout, overlong=layout.overlong[1:])
        span = replace(layout.overlong[0], length_nm=layout.overlong[0].length_nm + 1)
        yield replace(layout, overlong=(span, *layout.overlong[1:]))
    elif run.tabs_nm:
        yield replace(layout, overlong=(Overlong(start_nm=0, end_nm=1, length_nm=1, fixing_nm=0),))


def test_no_return_is_made_within_the_seam_overlap():
    """Without this rule, which is from memory, one return more would support this run further.

    Both the solver and the model keep it: a return there would lie under three layers of mesh.
    """
    run, rules = random_case(545)
    layout = lay_pieces(run, rules)
    start = layout.pieces[0].start_nm
    seam = layout.pieces[0].overlap_nm
    assert run.closed
    assert layout.returns
    for made in layout.returns:
        assert not 0 < (made.at_nm - start) % run.length_nm < seam
    assert sum(part.length_nm for part in layout.overlong) == 4
    assert disagreement(run, rules) is None
