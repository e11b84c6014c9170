"""Shapes over one another or slightly out of line: healed, noted or refused."""

from __future__ import annotations

from math import cos, radians, sin

import pytest
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.quote_result import compute_quote
from gapwright.errors import InvalidRequestError
from gapwright.strict import convert

from tests.unit.calls.layouts import BLOCK, CLEARANCE, layout, materials
from tests.unit.make import baseline

MODULE = {"x": "0 in", "y": "0 in", "width": "40 in", "height": "66 in"}
NEXT = {"rows": 1, "columns": 2, "long_side": "66 in", "short_side": "40 in"}
SHIFTED = {"modules": [MODULE], "blocks": [{**NEXT, "x": "40 in"}, {**NEXT, "x": "100 in"}]}


def faults(ask):
    with pytest.raises(InvalidRequestError) as caught:
        ask()
    return [(fault.pointer, fault.problem) for fault in caught.value.faults]


@pytest.mark.parametrize(("units", "size"), [("imperial", "20 in by 66 in"), ("metric", "508 mm")])
def test_an_overlap_is_told_in_the_units_of_the_request_and_by_block_row_and_column(units, size):
    ((pointer, problem),) = faults(lambda: layout(array=SHIFTED, units=units))
    assert pointer == "/array/blocks/1"
    assert problem.startswith(
        "Its module in row 1, column 1 overlaps the module in row 1, column 2 of blocks/0 in an"
        " area of "
    )
    assert size in problem


def test_without_units_those_of_the_rule_set_are_taken():
    ((_, problem),) = faults(lambda: layout(array={"modules": [MODULE, MODULE]}))
    assert problem == "It overlaps modules/0 in an area of 40 in by 66 in."


def leaning(into, count=2, **told):
    """Return a row of turned modules, each so far over the one before it [in]."""
    along, up = (40 - into) * cos(radians(30)), (40 - into) * sin(radians(30))
    places = [(f"{at * along:.6f} in", f"{at * up:.6f} in") for at in range(count)]
    modules = [{**MODULE, "x": x, "y": y, "rotation": 30} for x, y in places]
    return layout(array={"modules": modules}, rails={"none": True}, **told)


@pytest.mark.parametrize(("into", "size"), [(1, "66 in by 1 in."), (0.26, "66 in by 5/16 in.")])
def test_a_slanted_overlap_is_as_long_and_as_deep_as_it_is_along_its_own_sides(into, size):
    ((pointer, problem),) = faults(lambda: leaning(into))
    assert pointer == "/array/modules/1"
    assert problem == f"It overlaps modules/0 in an area of {size}"


@pytest.mark.parametrize(("into", "size"), [(0.24, "1/4 in"), (0.004, "1/16 in")])
def test_modules_that_overlap_by_less_than_a_tape_shows_touch_and_it_is_told(into, size):
    found = leaning(into, count=5)
    assert found.counts.corners == 4
    (told,) = (each for each in found.warnings if each.code == "overlap_within_rounding")
    assert told.text == (
        f"Modules overlap or are out of line by up to {size}, as from rounded coordinates."
        " They are treated as touching and in line."
    )


@pytest.mark.parametrize(("x", "y"), [("39.997 in", "0 in"), ("40 in", "0.003 in")])
def test_upright_modules_off_by_less_than_a_tape_shows_touch_in_line_and_it_is_told(x, y):
    found = layout(array={"modules": [MODULE, {**MODULE, "x": x, "y": y}]}, rails={"none": True})
    assert found.counts.corners == 4
    (told,) = (each for each in found.warnings if each.code == "overlap_within_rounding")
    assert "out of line by up to 1/16 in," in told.text


def test_the_bill_and_the_quote_tell_it_in_the_same_words():
    array = {"modules": [{**MODULE, "x": "30 in"}], "blocks": [BLOCK]}
    told = {"units": "metric", **CLEARANCE}
    found = [problem for _, problem in faults(lambda: layout(array=array, units="metric"))]
    assert "in an area of 254 mm by 1677 mm" in found[0]
    billed = faults(lambda: materials({"array": array}, **told))
    assert billed == [("/layout/array/blocks/0", problem) for problem in found]
    quote = convert({"planes": [{"array": array}], **told}, QuoteRequest)
    quoted = faults(lambda: compute_quote(quote, baseline()))
    assert quoted == [("/planes/0/array/blocks/0", problem) for problem in found]


def test_a_roll_that_is_not_sold_is_told_with_what_is_wrong_on_the_roof():
    array = {"modules": [MODULE, MODULE]}
    found = faults(lambda: layout(array=array, roll_length="70 ft"))
    assert [pointer for pointer, _ in found] == ["/roll_length", "/array/modules/1"]
    billed = faults(lambda: materials({"array": array}, **CLEARANCE, roll_length="70 ft"))
    assert [pointer for pointer, _ in billed] == ["/roll_length", "/layout/array/modules/1"]
    alone = faults(lambda: layout(array={"modules": [MODULE]}, roll_length="70 ft"))
    assert [pointer for pointer, _ in alone] == ["/roll_length"]


def test_every_fault_of_a_layout_is_placed_within_the_bill_that_counts_it():
    sides = [{"side": "A-eave", "zone": "windy"}]
    assert [
        pointer for pointer, _ in faults(lambda: materials({"array": SHIFTED, "sides": sides}))
    ] == ["/layout/sides/0/zone", "/layout/array/blocks/1"]


OPEN = [{"facing": facing, "open": True} for facing in ("left", "right")]


def row(step, count=10, **told):
    """Return a row of modules, every other one a step up the slope."""
    modules = [
        {
            "x": f"{at * 1020} mm",
            "y": step if at % 2 else "0 mm",
            "width": "1000 mm",
            "height": "1600 mm",
        }
        for at in range(count)
    ]
    return layout(array={"modules": modules}, units="metric", **told)


def test_steps_smaller_than_a_mark_of_the_tape_are_told_once_for_a_whole_array():
    found = row("25 mm")
    assert found.counts.corners == 40
    (warning,) = found.warnings
    assert (warning.code, warning.place.x.text) == ("uneven_sides", "1 m")
    assert warning.text == (
        "Sides shorter than the cut increment: A-right-1, A-left-1, A-right-2, A-left-2,"
        " A-right-3, A-left-3 and 12 more, the shortest"
        " 0.025 m. Each end of such a side is a corner. If the modules are in line, give them"
        " matching coordinates."
    )


@pytest.mark.parametrize("step", ["0 mm", "26 mm"])
def test_modules_in_line_and_steps_that_a_tape_shows_are_not_told(step):
    assert row(step).warnings == []


def test_steps_where_no_channel_goes_are_not_told():
    assert row("25 mm", count=2, facings=OPEN).warnings == []


@pytest.mark.parametrize(
    ("step", "kinds"), [("0.000001 mm", []), ("1 mm", ["overlap_within_rounding"])]
)
def test_steps_within_a_quarter_of_the_cut_increment_are_taken_to_be_in_line(step, kinds):
    found = row(step)
    assert found.counts.corners == 4
    assert [warning.code for warning in found.warnings] == kinds


def turned(digits, rotation=12.5):
    """Return two rows of turned modules as a design tool gives them, with so many digits [mm]."""
    along, up = cos(radians(rotation)), sin(radians(rotation))
    places = [(x * 1020, y * 1720) for x in range(5) for y in range(2)]
    modules = [
        {
            "x": f"{x * along - y * up:.{digits}f} mm",
            "y": f"{x * up + y * along:.{digits}f} mm",
            "width": "1000 mm",
            "height": "1700 mm",
            "rotation": rotation,
        }
        for x, y in places
    ]
    return layout(array={"modules": modules}, units="metric", rails={"none": True})


@pytest.mark.parametrize(
    ("digits", "healed"),
    [(0, {"overlap_within_rounding"}), (1, {"overlap_within_rounding"}), (2, set()), (3, set())],
)
def test_turned_modules_that_a_design_tool_rounded_stand_in_line(digits, healed):
    found, exact = turned(digits), turned(6)
    assert found.counts.corners == exact.counts.corners == 4
    assert found.counts.pieces == exact.counts.pieces
    assert found.counts.perimeter.value == pytest.approx(17, abs=0.004)
    assert {warning.code for warning in found.warnings} == {
        "overlong_span",
        "rails_unknown",
    } | healed
