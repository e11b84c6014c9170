from __future__ import annotations

import pytest

from service.calc.conditions import cautions
from tests.unit.make import baseline

ALWAYS = {
    "local_code",
    "falls",
    "live_conductors",
    "sharp_edges",
    "wildlife",
    "dangling_wires",
    "module_back",
    "wire_clips",
    "makers",
    "fire_access",
    "mice",
    "wind",
}


def given_for(**facts):
    return [caution.id for caution in cautions(facts, baseline())]


@pytest.mark.parametrize("facts", [{}, {"painted": "prepainted"}, {"covering": "membrane"}])
def test_the_cautions_that_save_lives_and_arrays_are_given_whatever_the_job(facts):
    assert set(given_for(**facts)) >= ALWAYS


def test_overspray_is_warned_of_where_paint_is_sprayed_or_nobody_knows():
    assert "overspray" in given_for(painted="spray")
    assert "overspray" in given_for()
    assert "overspray" not in given_for(painted="prepainted")


@pytest.mark.parametrize(
    ("covering", "warned"),
    [("tile", True), ("slate", True), ("metal_seam", True), ("composition_shingle", False)],
)
def test_a_covering_that_breaks_or_slips_is_warned_of(covering, warned):
    assert ("brittle_covering" in given_for(covering=covering)) is warned


def test_cautions_stand_in_the_order_of_the_rule_file():
    order = [caution.id for caution in baseline().cautions]
    assert given_for() == order
