"""The weights in a quote add up: what is used weighs no more than what is ordered."""

from __future__ import annotations

from math import pi

import pytest

from tests.unit.calls.quotes import area, ask, drawn, job, named

JOBS = [
    job(area("90 ft", 4)),
    job(area("90 ft", 4), area("300 ft", 7), area("12 ft", 9)),
    job(planes=[drawn(4), drawn(7, columns=9), {"arrays": [area("90 ft", 4)]}]),
    job(area("90 ft", 4), roll_length="50 ft", units="metric"),
]


@pytest.mark.parametrize("request_", JOBS)
def test_the_weight_of_the_mesh_is_that_of_its_lines_and_less_than_that_of_its_rolls(request_):
    bill = ask(request_)["bill"]
    mesh = [line for line in bill["lines"] if line["item"] == "mesh"]
    assert all((line["weight"] is not None) is (line in mesh) for line in bill["lines"])
    used = sum(line["weight"]["value"] for line in mesh)
    assert bill["mesh_weight"]["value"] == pytest.approx(used, abs=1e-3 * len(mesh))
    rolls = [one for one in bill["order"] if one["item"] == "mesh"]
    ordered = sum(one["weight"]["value"] * one["packs"] for one in rolls)
    assert ordered >= used
    for line, one in zip(mesh, rolls, strict=True):
        assert one["weight"]["value"] * one["packs"] >= line["weight"]["value"]
        left = one["packs"] * one["pack_size"] - line["quantity"]
        assert one["remaining"] == pytest.approx(left, abs=2e-6)


def test_a_strip_weighs_what_its_wires_weigh():
    """108 ft of 8-in mesh, 16 gauge at 1/2 in: 17 wires along, 2,593 across, and 8 % of coating.

    Weights stand with three decimals.
    """
    bill = ask(job(area("90 ft", "4 1/2")))["bill"]
    inches = 17 * 108 * 12 + 2593 * 8
    cubic_feet = inches * pi / 4 * 0.0625**2 / 12**3
    assert bill["mesh_weight"]["value"] == pytest.approx(cubic_feet * 490 * 1.08, abs=5e-4)


def test_a_rule_set_that_does_not_say_what_mesh_is_made_of_gives_no_weight():
    bill = ask(job(area("90 ft", 4)), named("baseline@1.1.0"))["bill"]
    assert bill["mesh_weight"] is None
    assert all(one["weight"] is None for one in (*bill["lines"], *bill["order"]))
