from __future__ import annotations

import msgspec
import pytest

from service.calls.computing import compute_materials
from service.calls.materials_form import MaterialsForm
from service.quantity.kinds import decode
from tests.unit.make import baseline


def answered(**told):
    request = {"perimeter": "90 ft", "strip_width": "8 in", **told}
    form = msgspec.convert(request, MaterialsForm, dec_hook=decode)
    return compute_materials(form, baseline()).result


def lines(found):
    return {line.item: line for line in found.lines}


def test_mesh_has_its_length_and_its_rolls_and_nothing_else_has():
    found = lines(answered(perimeter="100 ft"))
    mesh = found.pop("mesh")
    assert (mesh.length.text, mesh.rolls, mesh.quantity, mesh.unit) == ("120 ft", 2, 120, "ft")
    assert (mesh.packs.holds, mesh.packs.left_over, mesh.packs.unit) == (100, 80, "ft")
    for line in found.values():
        assert line.length is line.rolls is msgspec.UNSET
        assert line.unit == "each"


def test_metric_mesh_is_in_metres():
    mesh = lines(answered(units="metric"))["mesh"]
    assert (mesh.unit, mesh.quantity, mesh.length.text) == ("m", 32.9184, "32.919 m")
    assert mesh.length.rounded == "up"
    assert mesh.packs.holds == 30.48


def test_the_parts_of_a_line_add_up_to_it_where_there_is_no_spare():
    found = lines(answered(joining="ties"))
    for line in found.values():
        assert sum(part.quantity for part in line.parts) == pytest.approx(line.quantity)


def test_each_line_and_each_part_names_its_rule():
    for line in answered().lines:
        assert line.rule == f"bill.{line.item}"
        assert all(part.rule == f"{line.rule}.estimate.{part.need}" for part in line.parts)


def test_tools_stand_in_two_lists():
    tools = answered(joining="ties").tools
    needed, helpful = ([tool.tool for tool in part] for part in (tools.needed, tools.helpful))
    assert {"tin_snips", "driver", "gloves"} <= set(needed)
    assert "bending_brake" in helpful
    assert "ring_tool" not in needed + helpful


def test_without_a_strip_that_is_wide_enough_there_are_no_lines_but_there_is_advice():
    found = answered(strip_width=None, clearance={"readings": ["11 in"]})
    assert (found.strip_width, found.lines) == (None, ())
    assert found.advice
    assert found.tools.needed
