from __future__ import annotations

from msgspec.structs import replace

from service.calc.layout.lay import laid_pieces, piece_rules
from service.calc.pieces import Run, Zone, lay_pieces
from tests.unit.make import baseline
from tests.unit.measures import FT, IN


def loop(length):
    return Run(
        length_nm=length,
        closed=True,
        zones=(Zone(start_nm=0, end_nm=length, lap_nm=6 * IN, span_nm=8 * FT),),
        tabs_nm=(4 * FT, 20 * FT),
    )


def test_a_run_that_came_up_before_is_laid_out_as_it_was():
    rules = piece_rules(baseline().values)
    first = laid_pieces(loop(40 * FT), rules)
    assert laid_pieces(loop(40 * FT), rules) is first
    assert first == lay_pieces(loop(40 * FT), rules)


def test_another_run_and_other_rules_are_not_taken_for_it():
    rules = piece_rules(baseline().values)
    shorter = replace(rules, piece_nm=rules.piece_nm - 2 * FT)
    first = laid_pieces(loop(40 * FT), rules)
    assert laid_pieces(loop(40 * FT), shorter) == lay_pieces(loop(40 * FT), shorter) != first
    assert laid_pieces(loop(41 * FT), rules) == lay_pieces(loop(41 * FT), rules) != first
