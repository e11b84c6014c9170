"""The verdict of a quote with several arrays, and what it means for the price."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.unit.calls.quotes import SITE, area, ask, drawn, job, readings


def rows(answer):
    return [reason["rule"].split(".")[-1] for reason in answer["suitability"]["reasons"]]


def test_an_array_that_is_too_low_is_not_judged_away_among_higher_ones():
    low, high = area("50 ft", 1), area("50 ft", *[5] * 12)
    for areas in ((low, high), (high, low)):
        answer = ask(job(*areas))
        assert answer["suitability"]["verdict"] == "unsuitable"
        assert "too_low" in rows(answer)
        assert answer["price"] is answer["bill"] is answer["labor"] is None
    assert ask(job(high))["suitability"]["verdict"] == "suitable"


def test_one_tight_spot_of_one_array_is_a_tight_spot_still():
    assert ask(job(area("50 ft", *[5] * 12, 1)))["suitability"]["verdict"] == "suitable"


def test_an_array_that_nobody_has_measured_is_said_so_where_others_were():
    answer = ask(job(area("50 ft", 4), area("50 ft")))
    assert "not_measured" in rows(answer)
    assumed = [one for one in answer["assumptions"] if one["name"] == "clearance_rail_mounted"]
    assert [one["pointers"] for one in assumed] == [["/planes/0/arrays/1/clearance"]]
    assumed = {one["fact"]: one["assumed"] for one in answer["suitability"]["assumptions"]}
    assert assumed["clearance"]["text"] == "4 1/2 in"


def test_readings_of_the_whole_job_are_judged_as_those_of_an_array():
    told = ask(job(area("50 ft"), clearance=readings(4)))
    assert rows(told) == rows(ask(job(area("50 ft", 4)))) == ["shingle_on_rails"]


@pytest.mark.parametrize("flag", ["active_nest", "bat_roost", "damaged_wiring"])
def test_an_unsuitable_job_has_reasons_with_remedies_and_price_unavailable(flag):
    answer = ask(job(area("50 ft", 4), site={flag: True}, alternatives=True))
    assert answer["suitability"]["verdict"] == "unsuitable"
    grave = [r for r in answer["suitability"]["reasons"] if r["verdict"] == "unsuitable"]
    assert all(reason["remedy"] for reason in grave)
    assert grave
    for part in ("bill", "labor", "schedule", "price", "estimate", "layout", "tools"):
        assert answer[part] is None
    assert "unsuitable" in answer["price_unavailable"]


def test_a_price_is_firm_where_everything_that_moves_it_is_told():
    price = ask(job(area("50 ft", 4)))["price"]
    assert (price["firm"], price["open_items"]) == (True, [])


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"roof_covering": "unknown"}, "survey"),
        ({"roof_covering": "slate"}, "conditions"),
        ({"pitch": None}, "pitch"),
        ({"stories": None}, "stories"),
    ],
)
def test_a_price_with_something_open_is_open_items_and_says_what(told, why):
    price = ask(job(area("50 ft", 4), **told))["price"]
    assert price["firm"] is False
    assert any(why in reason for reason in price["open_items"])
    assert Decimal(price["total"]) > 0


def test_a_crew_that_was_not_told_leaves_a_price_firm():
    answer = ask(job(area("50 ft", 4), crew=None, working_day=None))
    assert [one["name"] for one in answer["assumptions"]] == ["crew", "working_day"]
    assert answer["price"]["firm"] is True


def test_a_channel_that_is_not_snug_leaves_a_price_open():
    price = ask(job(area("50 ft", "3 1/8", "2 1/8", name="porch"), area("20 ft", 4)))["price"]
    assert price["firm"] is False
    (why,) = price["open_items"]
    assert "snug" in why
    assert why.endswith("porch.")


def test_an_array_that_no_stocked_strip_suits_leaves_price_unavailable_and_says_why():
    answer = ask(job(area("50 ft", 4), area("50 ft", 12), alternatives=True))
    assert answer["price"] is answer["labor"] is answer["schedule"] is None
    assert "wide enough" in answer["price_unavailable"]
    assert answer["sizing"][1]["strip"]["width"] is None
    assert answer["sizing"][1]["advice"]
    assert answer["alternatives"] == []
    alone = ask(job(area("50 ft", 4)))
    assert answer["bill"]["lines"] == alone["bill"]["lines"]


def test_planes_with_their_own_clearances_take_strips_by_width_and_join_their_packs():
    north = drawn(4, name="north")
    south = drawn(7, name="south")
    shed = {"name": "shed", "arrays": [area("90 ft", 4)]}
    answer = ask(job(planes=[north, south, shed]))
    widths = [plan["strip_width"]["text"] for plan in answer["bill"]["cut_plans"]]
    assert widths == ["6 in", "10 in"]
    orders = answer["bill"]["order"]
    assert [(o["item"], o["strip_width"] and o["strip_width"]["text"]) for o in orders][:2] == [
        ("mesh", "6 in"),
        ("mesh", "10 in"),
    ]
    assert len({o["item"] for o in orders[2:]}) == len(orders[2:])
    alone = [ask(job(planes=[plane])) for plane in (north, south, shed)]
    for item in ("screw", "washer", "tie", "ring"):
        used = [
            line["quantity"] for a in alone for line in a["bill"]["lines"] if line["item"] == item
        ]
        (joined,) = [line for line in answer["bill"]["lines"] if line["item"] == item]
        assert joined["quantity"] == sum(used)
        (order,) = [o for o in orders if o["item"] == item]
        assert order["packs"] * order["pack_size"] - order["remaining"] == joined["quantity"]


def test_pieces_of_one_width_share_rolls_over_all_planes():
    one = drawn(4, rows=1, columns=2)
    alone = ask(job(planes=[one]))["bill"]["cut_plans"][0]["cut_plan"]
    both = ask(job(planes=[one, one, one]))["bill"]["cut_plans"]
    assert len(both) == 1
    assert len(both[0]["cut_plan"]["rolls"]) < 3 * len(alone["rolls"])


def names(answer):
    estimated = answer["estimate"]["arrays"] if answer["estimate"] else []
    return [name for strip in answer["sizing"] for name in strip["arrays"]], [
        one["name"] for one in estimated
    ]


def test_no_two_arrays_are_called_alike():
    planes = [
        {"name": "A", "arrays": [area("50 ft", 4, name="x"), area("50 ft", 4, name="x")]},
        {"name": "A", "arrays": [area("50 ft", 4, name="x")]},
        {"name": "A x", "arrays": [area("50 ft", 4)]},
        drawn(4, name="A x"),
        {"name": "plane 6", "arrays": [area("50 ft", 4)]},
        {"arrays": [area("50 ft", 4)]},
    ]
    answer = ask(job(planes=planes))
    sized, estimated = names(answer)
    assert len(set(sized)) == len(sized) == 7
    assert set(estimated) <= set(sized)
    assert len(set(estimated)) == 6


def test_a_drawn_plane_is_called_alike_in_sizing_and_in_its_layout():
    answer = ask(job(planes=[drawn(4, name="A"), drawn(4, name="A"), drawn(4)]))
    sized, _ = names(answer)
    assert sized == ["A", "A (2)", "plane 3"]
    assert list(dict.fromkeys(side["plane"] for side in answer["layout"]["sides"])) == sized


def test_the_readings_of_the_job_hold_where_a_plane_and_an_array_tell_none():
    planes = [{"arrays": [area("50 ft", 8), area("50 ft")], "clearance": readings(6)}, drawn()]
    answer = ask({**SITE, "planes": planes, "clearance": readings(4)})
    told = {
        name: s["clearance"]["governing"]["value"] for s in answer["sizing"] for name in s["arrays"]
    }
    assert told == {"plane 1 array 1": 8, "plane 1 array 2": 6, "plane 2": 4}
