"""Readings by edge and by facing in a quote: the strips are those of the layout call."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from gapwright.calls.layout import LayoutRequest
from gapwright.calls.layout import layout as layout_call
from gapwright.calls.quote_request import QuoteRequest
from gapwright.strict import convert

from tests.unit.calls.quotes import LATEST, area, ask, drawn, job, named, readings
from tests.unit.wire import as_sent

LOW, HIGH = (4.5, 4.375), (7.25, 7)
"""Readings that no one strip suits."""


def right(*told: float) -> dict[str, Any]:
    return {"sides": [{"side": "A2", "clearance": readings(*told)}]}


def layout(*planes: dict[str, Any], **more: Any) -> Any:
    request = convert({"planes": list(planes), **more}, LayoutRequest)
    return as_sent(layout_call(request, named(LATEST)).result)


def quoted(*planes: dict[str, Any], **more: Any) -> Any:
    return ask(job(**({"planes": list(planes)} | more)))


def uneven(name: str, columns: int = 3) -> dict[str, Any]:
    return drawn(name=name, columns=columns, **right(*HIGH))


def in_turn(told: list[Any]) -> list[str]:
    """Return the widths of strips in the order in which they are told."""
    return list(dict.fromkeys(one["strip_width"]["text"] for one in told))


def mesh(lines: list[Any], amount: str) -> dict[str, Any]:
    return {line["strip_width"]["text"]: line[amount] for line in lines if line["strip_width"]}


@pytest.mark.parametrize(
    ("usual", "beside", "widths"), [(LOW, HIGH, ["8 in", "10 in"]), (HIGH, LOW, ["10 in", "8 in"])]
)
def test_strips_pieces_and_rolls_in_their_order_are_those_of_the_layout_call(
    usual: tuple[float, ...], beside: tuple[float, ...], widths: list[str]
) -> None:
    told = {"clearance": readings(*usual)}
    planes = [
        drawn(name="South", **right(*beside)),
        drawn(name="West", columns=6, **right(*beside)),
    ]
    quote, laid = quoted(*planes, **told), layout(*planes, **told)
    found = quote["layout"]
    assert [strip["width"]["text"] for strip in found["strips"]] == widths
    for part in ("strips", "sides", "pieces", "overlaps", "tabs", "returns", "counts", "warnings"):
        assert found[part] == laid[part]
    assert found["cut_plan"] == laid["cut_plan"]
    assert in_turn(found["cut_plan"]["rolls"]) == widths
    assert in_turn(quote["bill"]["cut_plans"]) == widths
    assert list(mesh(quote["bill"]["order"], "packs")) == ["8 in", "10 in"]


def test_a_strip_that_is_not_stocked_takes_no_rolls_in_either_call() -> None:
    told = {"clearance": readings(*LOW)}
    planes = [drawn(name="South", **right(11)), drawn(name="West")]
    found, laid = quoted(*planes, **told)["layout"], layout(*planes, **told)
    assert [strip["width"] and strip["width"]["text"] for strip in found["strips"]] == [
        "8 in",
        None,
    ]
    for part in ("strips", "pieces", "overlaps", "tabs", "counts", "cut_plan", "warnings"):
        assert found[part] == laid[part]


def test_mesh_is_used_ordered_and_priced_by_width() -> None:
    found = quoted(uneven("South"), clearance=readings(*LOW))
    cut = dict.fromkeys(("S1", "S2"), 0.0)
    for piece in found["layout"]["pieces"]:
        cut[piece["strip"]] += piece["cut_length"]["value"] - 1e-6  # shown rounded up
    used = mesh(found["bill"]["lines"], "quantity")
    assert used.keys() == {"8 in", "10 in"} == mesh(found["price"]["lines"], "amount").keys()
    assert used["8 in"] >= cut["S1"] > used["10 in"] >= cut["S2"] > 0
    plans = {p["strip_width"]["text"]: p["cut_plan"] for p in found["bill"]["cut_plans"]}
    ordered = mesh(found["bill"]["order"], "packs")
    assert {width: len(plan["rolls"]) for width, plan in plans.items()} == ordered


def test_the_clearance_of_a_plane_holds_where_its_sides_and_facings_have_no_readings() -> None:
    own = quoted(drawn(*LOW, name="South", **right(*HIGH)), clearance=readings(9))
    usual = quoted(drawn(name="South", **right(*HIGH)), clearance=readings(*LOW))
    assert own["layout"]["pieces"] == usual["layout"]["pieces"]
    assert own["price"]["lines"] == usual["price"]["lines"]
    places = [(told["plane"], told["place"]) for told in own["sizing"][0]["readings"]]
    assert sorted(places) == [("South", "eave"), ("South", "left"), ("South", "ridge")]


def test_planes_that_one_strip_suits_share_it_with_arrays_of_the_same_readings() -> None:
    arrays = {"arrays": [area("90 ft", 4.5)], "name": "Shed"}
    found = quoted(drawn(4.5, name="South"), drawn(4.5, name="West"), arrays)
    (strip,) = found["sizing"]
    assert strip["arrays"] == ["Shed", "South", "West"]
    assert strip["layout_strip"] == "S1"


def test_nothing_is_assumed_where_every_side_has_readings() -> None:
    facings = [{"facing": f, "clearance": readings(4.5)} for f in ("eave", "ridge", "left")]
    whole = drawn(name="South", facings=[*facings, {"facing": "right", "open": True}])
    names = [one["name"] for one in quoted(whole)["assumptions"]]
    assert "clearance_rail_mounted" not in names
    lacking = quoted(drawn(name="South", facings=facings))
    (assumed,) = [one for one in lacking["assumptions"] if one["name"] == "clearance_rail_mounted"]
    assert assumed["pointers"] == ["/planes/0/clearance"]


def test_the_range_of_an_assumed_clearance_lays_out_anew_what_it_groups_otherwise() -> None:
    request = job(planes=[drawn(name="South", **right(5))])
    found = ask(request)
    (assumed,) = [one for one in found["assumptions"] if one["name"] == "clearance_rail_mounted"]
    ends = [ask({**request, "clearance": {"readings": [assumed[end]]}}) for end in ("low", "high")]
    assert [len(one["layout"]["strips"]) for one in (found, *ends)] == [1, 2, 2]
    totals = sorted((one["price"]["total"] for one in (found, *ends)), key=Decimal)
    assert assumed["total"] == {"low": totals[0], "high": totals[-1]}


def test_an_side_with_too_little_room_is_judged_as_an_array_with_it_would_be() -> None:
    low = {"sides": [{"side": "A2", "clearance": readings(1)}]}
    by_side = quoted(drawn(name="South", **low), clearance=readings(4.5))
    whole = quoted(drawn(1, name="South"), clearance=readings(4.5))
    assert by_side["suitability"]["verdict"] == whole["suitability"]["verdict"]
    assert by_side["suitability"]["verdict"] != "suitable"


def test_the_next_width_widens_the_strip_of_every_side() -> None:
    found = quoted(uneven("South"), clearance=readings(*LOW), alternatives=True)
    wider = [one["to"] for one in found["alternatives"] if one["change"] == "strip_width"]
    assert wider == ["10 in, 12 in"]


def test_sides_that_share_no_strip_make_no_array_more() -> None:
    whole = quoted(drawn(name="South"), clearance=readings(*LOW))
    split = quoted(uneven("South"), clearance=readings(*LOW))
    times = [
        {task["task"]: task["time"] for task in one["labor"]["tasks"]} for one in (whole, split)
    ]
    assert times[0]["measure"] == times[1]["measure"]


def test_more_modules_than_are_laid_out_at_once_are_refused_before_any_is_made() -> None:
    huge = {"rows": 1000, "columns": 1000, "long_side": "66 in", "short_side": "40 in"}
    planes = [{"array": {"blocks": [huge] * 50}}, drawn(4.5)]
    (fault,) = convert(job(planes=planes), QuoteRequest).faults()
    assert fault.path == ("planes",)
    assert "got 50000006" in fault.problem


def test_readings_of_an_side_that_is_not_there_leave_the_price_open() -> None:
    stray = {"sides": [{"side": "Z9", "clearance": readings(*HIGH)}]}
    found = quoted(drawn(name="South", **stray), clearance=readings(*LOW))
    assert found["price"]["open_items"] == ["Settings for sides that do not exist: South Z9."]
    assert quoted(drawn(name="South"), clearance=readings(*LOW))["price"]["firm"]
