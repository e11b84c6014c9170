"""Mesh weighs what its wires weigh, and its coating a share more."""

from __future__ import annotations

from fractions import Fraction

import msgspec
import pytest
from gapwright.calc.weight import open_share, opening_nm, weigh_strip
from gapwright.rulesets.ruleset import Mesh
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, STEADY

MESH = Mesh(wire_nm=IN // 16, spacing_nm=IN // 2, density=Fraction(7_850_000), coating=Fraction(0))


def test_a_square_of_one_opening_has_two_wires_each_way():
    found = weigh_strip(IN // 2, IN // 2, MESH)
    assert (found.line_wires, found.cross_wires) == (2, 2)
    assert found.wire_length_nm == 2 * IN


def test_a_wire_stands_on_the_first_side_and_as_many_more_as_fit():
    assert weigh_strip(IN - 1, 10 * IN, MESH).line_wires == 2
    assert weigh_strip(IN, 10 * IN, MESH).line_wires == 3


def test_a_coating_is_a_share_of_the_bare_weight():
    coated = msgspec.structs.replace(MESH, coating=Fraction(1, 10))
    found = weigh_strip(8 * IN, 100 * FT, coated)
    assert found.weight_g == pytest.approx(1.1 * found.bare_g)
    assert found.bare_g == weigh_strip(8 * IN, 100 * FT, MESH).weight_g


def test_a_metre_of_wire_of_a_square_millimetre_weighs_its_density_in_thousandths():
    """A strip narrower than one spacing is one line wire and the stubs across it."""
    wire = Mesh(wire_nm=1_128_379, spacing_nm=10**12, density=Fraction(10**6), coating=Fraction(0))
    found = weigh_strip(0, 10**9, wire)
    assert found.wire_length_nm == 10**9
    assert found.bare_g == pytest.approx(1, rel=1e-6)


@STEADY
@given(st.integers(IN, 48 * IN), st.integers(FT, 200 * FT))
def test_two_strips_weigh_no_less_than_one_of_their_length(width, length):
    one, both = weigh_strip(width, length, MESH), weigh_strip(width, 2 * length, MESH)
    assert one.bare_g < both.bare_g <= 2 * one.bare_g


@STEADY
@given(st.integers(IN // 100, IN // 3))
def test_opening_and_wire_make_up_the_spacing(wire):
    mesh = msgspec.structs.replace(MESH, wire_nm=wire)
    assert opening_nm(mesh) + wire == mesh.spacing_nm
    assert 0 < open_share(mesh) < 1
