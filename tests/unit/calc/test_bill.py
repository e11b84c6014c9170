"""What a job takes of everything by thumb rules, in whole counts and packs."""

from __future__ import annotations

from fractions import Fraction

import pytest
from gapwright.calc.bill import bill, lines_of, quick_drivers, tools_of
from gapwright.rulesets.figures import Figure
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.make import added, baseline, edited, rules_of, with_values
from tests.unit.measures import FT, IN, STEADY

PERIMETERS = st.integers(FT, 20_000 * FT)
RINGS = {"joining": "rings", "finish": "prepainted"}
TIES = {"joining": "ties", "finish": "spray"}
JOBS = st.sampled_from([RINGS, TIES])


def drivers(perimeter_nm, rules, corners=4, penetrations=0):
    return quick_drivers(Figure(perimeter_nm), Figure(corners), Figure(penetrations), rules)


def billed(perimeter_ft, facts=RINGS, *, rules=None, roll_ft=None, **counts):
    """Return the lines of a job by their item."""
    rules = rules or baseline()
    driven = drivers(round(perimeter_ft * FT), rules, **counts)
    roll = None if roll_ft is None else roll_ft * FT
    lines = lines_of(bill(driven, facts, rules), roll, rules)
    return {item: line.value for item, line in lines.items() if line.value}


def quantities(*args, **more):
    return {name: line.quantity.amount for name, line in billed(*args, **more).items()}


def house(entry):
    """Return the baseline with one more item at the end of its bill."""
    return rules_of(edited(("\ntools:\n", f"{entry}\ntools:\n")))


def item(name, estimate, **more):
    members = "".join(f"    {key.replace('_', ' ')}: {value}\n" for key, value in more.items())
    head = f"  {name}:\n    description: Something\n    source: common-practice\n"
    return f"{head}    estimate: {{{estimate}}}\n{members}"


@pytest.mark.parametrize(
    ("perimeter", "screws", "ties", "rings"),
    [
        (60, 10, 10, 30),
        (61, 11, 11, 31),
        (66, 11, 11, 33),
        (1, 1, 1, 1),
        (120, 20, 20, 60),
        (90, 15, 15, 45),
        (90 + Fraction(IN, 2 * FT), 16, 16, 46),
    ],
)
def test_fixings_and_rings_are_whole_counts_that_cover_the_perimeter(
    perimeter, screws, ties, rings
):
    found = quantities(perimeter)
    assert (found["screw"], found["washer"]) == (screws, screws)
    assert (found["tie"], found["ring"]) == (ties, rings)


def test_without_the_ring_tool_more_ties_do_the_joining():
    lines = billed(61, TIES)
    assert "ring" not in lines
    assert [part.quantity.amount for part in lines["tie"].parts] == [11, 16]
    assert lines["tie"].quantity.amount == 27


def test_paint_is_bought_only_where_it_is_sprayed():
    assert "spray_paint" not in billed(90, RINGS)
    assert quantities(90, TIES)["spray_paint"] == 1
    assert quantities(101, TIES)["spray_paint"] == 2


def test_the_order_in_a_section_is_the_order_of_the_bill():
    order = [item.id for item in baseline().bill]
    found = list(billed(90, TIES))
    assert found == [name for name in order if name in found]
    first = rules_of(added("bill", item("cap", "caps: {driver: corners}")))
    assert next(iter(billed(90, rules=first))) == "cap"


@STEADY
@given(PERIMETERS, st.fractions(0, 2, max_denominator=1000))
def test_mesh_is_the_perimeter_and_its_allowance_and_less_than_a_nanometre_more(nm, allowance):
    mesh = drivers(nm, with_values({"waste_factor": allowance}))["mesh_length"].value
    assert 0 <= mesh - nm * (1 + Fraction(allowance)) < 1


@STEADY
@given(PERIMETERS, JOBS)
def test_packs_hold_what_is_needed_and_one_fewer_would_not(nm, facts):
    for line in billed(Fraction(nm, FT), facts).values():
        packs = line.packs
        pack_size, left = packs.pack_size.amount, packs.remaining.amount
        assert packs.count * pack_size == line.quantity.amount + left
        assert 0 <= left < pack_size


@STEADY
@given(PERIMETERS, PERIMETERS, JOBS)
def test_a_longer_perimeter_never_takes_less_of_anything(one, other, facts):
    short, long = (quantities(Fraction(nm, FT), facts) for nm in sorted((one, other)))
    assert set(short) <= set(long)
    assert all(short[name] <= long[name] for name in short)


@pytest.mark.parametrize(("feet", "rolls"), [(83, 1), (Fraction(250, 3), 1), (84, 2)])
def test_a_job_takes_as_few_rolls_as_cover_the_mesh(feet, rolls):
    assert billed(feet)["mesh"].packs.count == rolls


def test_a_chosen_roll_length_is_for_what_is_sold_in_it_and_changes_nothing_else():
    coil = item(
        "edging", "edge: {driver: perimeter}", unit="length", pack="{name: coil, pack_size: 25 ft}"
    )
    rules = house(coil)
    usual, shorter = billed(90, rules=rules), billed(90, rules=rules, roll_ft=50)
    assert (usual["mesh"].packs.count, shorter["mesh"].packs.count) == (2, 3)
    assert usual.pop("mesh").quantity == shorter.pop("mesh").quantity
    assert usual == shorter
    assert (usual["edging"].packs.pack_size.amount, usual["edging"].packs.count) == (25 * FT, 4)


def test_a_company_adds_one_end_cap_for_each_corner_without_python():
    rules = house(item("end_cap", "caps: {driver: corners}", pack="{name: bag, pack_size: 10}"))
    assert quantities(90, rules=rules, corners=6)["end_cap"] == 6
    assert billed(90, rules=rules, corners=12)["end_cap"].packs.count == 2
    without = {n: count for n, count in quantities(90, rules=rules).items() if n != "end_cap"}
    assert without == quantities(90)


def test_nothing_of_what_drives_a_line_leaves_the_line_out():
    rules = house(item("collar", "collars: {driver: penetrations}", minimum=5))
    assert "collar" not in billed(90, rules=rules, penetrations=0)
    assert quantities(90, rules=rules, penetrations=1)["collar"] == 5
    assert quantities(90, rules=rules, penetrations=7)["collar"] == 7


def test_each_portion_can_take_several():
    rules = house(item("cap", "caps: {driver: corners, each: 3, one_per: 2}"))
    assert quantities(90, rules=rules, corners=4)["cap"] == 6
    assert quantities(90, rules=rules, corners=5)["cap"] == 8


@pytest.mark.parametrize(
    ("spare", "count"), [("0 %", 15), ("10 %", 17), ("20 %", 18), ("0.1 %", 16), ("100 %", 30)]
)
def test_a_spare_is_rounded_up_to_whole_pieces(spare, count):
    rules = house(item("plug", "plugs: {driver: screw}", spare=spare))
    assert quantities(90, rules=rules)["plug"] == count


def test_a_minimum_counts_after_the_spare():
    rules = house(item("plug", "plugs: {driver: corners}", spare="50 %", minimum=5))
    assert quantities(90, rules=rules, corners=2)["plug"] == 5
    assert quantities(90, rules=rules, corners=4)["plug"] == 6


def test_a_chain_of_items_counts_what_is_used_and_not_the_spare_of_the_one_before():
    chain = (
        item("cap", "caps: {driver: corners}", spare="50 %", minimum=20)
        + item("rivet", "rivets: {driver: cap, each: 2}", spare="25 %")
        + item("shim", "shims: {driver: rivet, one_per: 3}")
    )
    found = quantities(90, rules=house(chain), corners=4)
    assert [found[name] for name in ("cap", "rivet", "shim")] == [20, 10, 3]


def test_a_length_can_drive_a_count_through_a_measured_item():
    edging = item("edging", "edge: {driver: perimeter}", unit="length", spare="10 %")
    clip = item("clip", "clips: {driver: edging, one_per: 18 in}")
    found = quantities(90, rules=house(edging + clip))
    assert (found["edging"], found["clip"]) == (99 * FT, 60)


def test_an_item_can_be_for_one_kind_of_job_only_and_so_is_what_hangs_on_it():
    bags = item("ring_bag", "bags: {driver: ring, one_per: 20}")
    masks = item("mask", "masks: {driver: corners}", when="{finish: spray}")
    rules = house(bags + masks)
    assert quantities(90, RINGS, rules=rules)["ring_bag"] == 3
    assert "ring_bag" not in billed(90, TIES, rules=rules)
    assert "mask" in billed(90, TIES, rules=rules)
    assert "mask" not in billed(90, RINGS, rules=rules)


def test_an_item_without_a_pack_is_bought_by_the_piece():
    assert billed(90, rules=house(item("cap", "caps: {driver: corners}")))["cap"].packs is None


def test_tools_follow_from_how_overlaps_are_joined():
    def tools(facts):
        found = tools_of(facts, baseline())
        return {tool.tool for tool in (*found.needed, *found.helpful)}

    assert tools(RINGS) - tools(TIES) == {"ring_tool"}
    assert tools(TIES) >= {"tin_snips", "driver", "tape_measure", "fall_protection"}
