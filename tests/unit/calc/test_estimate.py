from __future__ import annotations

from service.calc.estimate import QuickJob, estimate
from tests.unit.make import baseline, edited, rules_of, with_values
from tests.unit.measures import FT, IN, inches


def job(**told):
    plain = {
        "perimeter_nm": 90 * FT,
        "strip_nm": None,
        "readings_nm": (inches("4 1/2"),),
        "joining": "rings",
        "painted": "prepainted",
        "corners": None,
        "penetrations": 0,
        "roll_nm": None,
        "zones": {},
    }
    return QuickJob(**{**plain, **told})


def quantities(found):
    return {line.item.id: line.quantity for line in found.bill.lines}


def capped():
    """The baseline with one end cap for each corner."""
    cap = "  cap: {description: Cap, estimate: {caps: {driver: corners}}, source: from-memory}\n"
    return edited(("\ntools:\n", f"{cap}\ntools:\n"))


def test_a_clearance_is_sized_and_a_strip_is_taken_as_told():
    assert estimate(job(), baseline()).strip_nm == 8 * IN
    told = estimate(job(strip_nm=10 * IN, readings_nm=()), baseline())
    assert (told.strip_nm, told.sizing) == (10 * IN, None)


def test_the_width_of_the_strip_changes_no_count():
    wide = estimate(job(strip_nm=12 * IN, readings_nm=()), baseline())
    assert quantities(wide) == quantities(estimate(job(), baseline()))


def test_a_gap_beyond_all_stock_gets_no_lines_but_keeps_the_tools():
    found = estimate(job(readings_nm=(inches("11"),)), baseline())
    assert found.strip_nm is None
    assert found.bill.lines == found.bill.trace == ()
    assert found.bill.tools


def test_corners_that_are_not_told_are_the_rule_sets_usual_ones():
    rules = rules_of(capped())
    assert quantities(estimate(job(), rules))["cap"] == 4
    assert quantities(estimate(job(corners=9), rules))["cap"] == 9
    assert "cap" not in quantities(estimate(job(corners=0), rules))


def test_the_margin_of_the_rule_set_sets_the_strip():
    assert estimate(job(), with_values({"strip_margin": 4 * IN})).strip_nm == 10 * IN
