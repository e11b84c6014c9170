"""What a caller may leave out of a quote: what is assumed then, and what that does to the total."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, get_args

import msgspec
import pytest
from gapwright.calls.quote_request import QuoteRequest
from gapwright.errors import InvalidRequestError
from gapwright.facts import Racking
from gapwright.strict import faults

from tests.unit.calls.quotes import SITE, area, ask, demo, drawn, job, named, readings

GRID = {"rows": 2, "columns": 5}
LEAST: list[dict[str, Any]] = [
    {"planes": [{"arrays": [{"modules": {"count": 1}}]}]},
    {"planes": [{"arrays": [{"modules": {"count": 24}}]}]},
    {"planes": [{"arrays": [{"grid": GRID}]}]},
    {"planes": [{"arrays": [{"perimeter": "90 ft"}]}]},
    {"planes": [drawn()]},
    {"planes": [drawn(), {"arrays": [{"modules": {"count": 9}}, {"grid": GRID}]}]},
]
"""The least that tells how large a job is, in every way that it can be told."""


def told_at(request: Any, pointer: str, value: Any) -> Any:
    """Return a request that tells a value at a JSON pointer."""
    copy = msgspec.json.decode(msgspec.json.encode(request))
    steps = [int(s) if s.isdigit() else s for s in pointer.strip("/").split("/")]
    part = copy
    for step in steps[:-1]:
        part = part[step]
    part[steps[-1]] = value
    return copy


def in_request(name: str, text: str) -> Any:
    """Return what a request writes to tell an assumption's value."""
    if name.startswith("clearance_"):
        return {"readings": [text]}
    return int(text) if text.isdigit() else text


@pytest.mark.parametrize("racking", get_args(Racking))
@pytest.mark.parametrize("request_", LEAST)
def test_the_least_request_is_priced_and_each_assumption_stands_once(request_, racking):
    answer = ask({**request_, "roof_covering": "asphalt_shingle", "racking": racking})
    named_ = [one["name"] for one in answer["assumptions"]]
    assert len(set(named_)) == len(named_)
    assert {f"clearance_{racking}", "stories", "crew", "working_day"} <= set(named_)
    total = Decimal(answer["price"]["total"])
    assert total > 0
    for one in answer["assumptions"]:
        assert Decimal(one["total"]["low"]) <= total <= Decimal(one["total"]["high"])
        assert one["pointers"]
        assert len(set(one["pointers"])) == len(one["pointers"])


@pytest.mark.parametrize("request_", LEAST)
def test_what_is_assumed_can_be_told_at_each_of_its_places_and_then_nothing_changes(request_):
    """The places are members of the request form: the form takes what the answer shows there."""
    request = {**SITE, **request_}
    answer = ask(request)
    told = request
    for one in answer["assumptions"]:
        for place in one["pointers"]:
            told = told_at(told, place, in_request(one["name"], one["assumed"]))
    assert faults(told, QuoteRequest) == []
    after = ask(told)
    assert after["assumptions"] == []
    assert after["price"]["total"] == answer["price"]["total"]
    assert after["labor"] == answer["labor"]
    assert after["bill"] == answer["bill"]


@pytest.mark.parametrize("end", ["low", "high"])
@pytest.mark.parametrize("request_", LEAST)
def test_the_range_of_a_total_holds_what_a_request_for_an_end_of_it_costs(request_, end):
    request = {**SITE, **request_}
    for one in ask(request)["assumptions"]:
        told = request
        for place in one["pointers"]:
            told = told_at(told, place, in_request(one["name"], one[end]))
        total = Decimal(ask(told)["price"]["total"])
        assert Decimal(one["total"]["low"]) <= total <= Decimal(one["total"]["high"])


@pytest.mark.parametrize("count", range(1, 30))
def test_the_range_of_rows_holds_every_count_of_rows_between_its_ends(count):
    """Nine modules go round shortest in three rows, which is no end of the range."""
    request = {**SITE, "planes": [{"arrays": [{"modules": {"count": count}}]}]}
    (rows,) = [one for one in ask(request)["assumptions"] if one["name"] == "rows"]
    least, most = int(rows["low"]), int(rows["high"])
    totals = []
    for told in range(least, most + 1):
        modules = {"count": count, "rows": told}
        answer = ask({**SITE, "planes": [{"arrays": [{"modules": modules}]}]})
        totals.append(Decimal(answer["price"]["total"]))
    assert Decimal(rows["total"]["low"]) == min(totals)
    assert Decimal(rows["total"]["high"]) == max(totals)


def test_a_range_that_reaches_an_unsuitable_clearance_has_no_totals():
    rules = named("baseline@1.2.0")
    usual = rules.assumptions["clearance_rail_mounted"]
    low = msgspec.structs.replace(usual, least=usual.least // 3)
    assumptions = {**rules.assumptions, "clearance_rail_mounted": low}
    moved = msgspec.structs.replace(rules, assumptions=assumptions)
    answer = ask({**SITE, "planes": [{"arrays": [{"perimeter": "90 ft"}]}]}, moved)
    (one,) = [one for one in answer["assumptions"] if one["name"] == "clearance_rail_mounted"]
    assert one["total"] is None
    assert answer["price"]["firm"] is False


@pytest.mark.parametrize("version", ["baseline@1.0.0", "baseline@1.1.0", "northmoor@1.0.0"])
def test_without_assumptions_everything_that_is_missing_is_told_at_once(version):
    planes = [drawn(), {"arrays": [{"modules": {"count": 9}}, {"grid": GRID}, area("9 ft")]}]
    with pytest.raises(InvalidRequestError) as refused:
        ask({**SITE, "planes": planes}, named(version))
    assert {"/".join(map(str, fault.path)) for fault in refused.value.faults} == {
        "planes/0/clearance",
        *(f"planes/1/arrays/{at}/clearance" for at in range(3)),
        *(f"planes/1/arrays/0/modules/{side}" for side in ("rows", "long_side", "short_side")),
        *(f"planes/1/arrays/1/grid/{side}" for side in ("long_side", "short_side")),
        "planes/1/arrays/0/modules/gap",
        "planes/1/arrays/1/grid/gap",
    }
    assert all(fault.remedy for fault in refused.value.faults)


def test_what_is_missing_is_told_beside_what_is_wrong_with_a_drawing_and_a_book():
    side = {"x": "0 in", "y": "0 in", "width": "60 in", "height": "40 in"}
    planes = [{"array": {"modules": [side, side]}}, {"arrays": [{"perimeter": "90 ft"}]}]
    book = {"currency": "USD", "prices": {}, "minimum_charge": 350}
    with pytest.raises(InvalidRequestError) as refused:
        ask({**SITE, "planes": planes, "prices": book}, named("baseline@1.0.0"))
    paths = {fault.path for fault in refused.value.faults}
    assert {("planes", 0, "clearance"), ("planes", 1, "arrays", 0, "clearance")} <= paths
    assert ("prices", "minimum_charge") in paths
    assert any(path[:3] == ("planes", 0, "array") for path in paths)


@pytest.mark.parametrize("count", [1, 2, 5, 7, 24])
@pytest.mark.parametrize("rows", [1, 2, 4])
def test_modules_in_rows_that_are_not_full_go_round_the_box_that_holds_them(count, rows):
    sides = {"long_side": "69 in", "short_side": "41 in", "gap": "1 in"}
    told = {"modules": {"count": count, "rows": rows, **sides}}
    answer = ask(job({**told, "clearance": readings(4)}))
    high = min(rows, count)
    wide = -(-count // high)
    inches = 2 * (wide * 41 + (wide - 1) + high * 69 + (high - 1))
    (one,) = answer["estimate"]["arrays"]
    assert one["perimeter"]["value"] == pytest.approx(inches / 12, abs=1e-6)  # six decimals
    assert one["corners"] == (4 if count == wide * high else 6)


def test_a_working_day_that_is_told_divides_the_hours_into_days():
    long, short = (ask(job(area("300 ft", 4), working_day=day)) for day in ("10 h", "5 h"))
    assert long["labor"]["person_hours"] == short["labor"]["person_hours"]
    assert long["schedule"]["working_day"]["text"] == "10 h"
    hours = short["schedule"]["hours_on_site"]["value"]
    assert hours / 5 <= short["schedule"]["days"] < hours / 5 + 0.5
    assert hours / 10 <= long["schedule"]["days"] < hours / 10 + 0.5


def test_a_rule_set_without_rates_gives_materials_and_leaves_labor_to_be_priced():
    answer = ask(job(area("90 ft", 4)), named("baseline@1.0.0"), demo())
    assert answer["labor"] is answer["schedule"] is None
    price = answer["price"]
    assert (price["total"], price["labor"]) == (None, None)
    assert price["to_be_priced"] == ["labor"]
    assert price["firm"] is False
    assert Decimal(price["subtotal"]) > 0
