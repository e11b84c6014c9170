"""Pieces of small random runs against every layout that there is."""

from __future__ import annotations

import random

import pytest
from gapwright.calc.pieces import lay_pieces
from gapwright.calc.pieces.zones import longest_overlap_nm

from tests.unit.calc.pieces.brute import brute, random_run


@pytest.mark.parametrize("block", range(4))
def test_no_layout_is_better_than_the_one_that_is_found(block: int) -> None:
    compared = 0
    for seed in range(block * 30, block * 30 + 30):
        run, rules = random_run(random.Random(seed))
        if run.closed and longest_overlap_nm(run, rules) >= run.length_nm:
            continue
        wanted, layout = brute(run, rules), lay_pieces(run, rules)
        if wanted is None:
            assert layout.conflicts or layout.short_pieces or not layout.pieces
            continue
        seam = {layout.pieces[0].start_nm, layout.pieces[-1].end_nm}
        if run.closed and not run.tabs_nm and not seam & {made.at_nm for made in layout.returns}:
            continue  # a seam that nothing can fix is judged as two ends, and reported as it is
        cuts = sum(piece.cut_nm < rules.piece_nm for piece in layout.pieces)
        cost = layout.mesh_nm + rules.cut_weight_nm * cuts
        cost += rules.return_weight_nm * len(layout.returns)
        late = sum(span.length_nm for span in layout.overlong)
        assert (late, len(layout.pieces), cost) == wanted, seed
        compared += 1
    assert compared > 15
