"""What differs between two versions is told entry by entry, and classed by what it asks for."""

from __future__ import annotations

import copy
from functools import lru_cache

import pytest
from gapwright.publishing.changes import changes, loosens
from gapwright.rulesets.build.build import build
from gapwright.rulesets.reader import Document, read
from gapwright.rulesets.resolve import Resolved
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.make import house_text

GONE = object()
ZONE = {
    "description": "m",
    "source": "from-memory",
    "values": {"overlap_length": "8 in", "return_spacing": "6 ft"},
    "bill": {"screw": {"fixing": {"one_per": "4 ft"}}},
}
TOOL = {"description": "d", "source": "from-memory"}
NOTICE = {"severity": "notice", "text": "t", "source": "from-memory"}


@lru_cache(maxsize=1)
def tree():
    return read(house_text().encode(), "house.yaml").tree


def made(edits):
    """Return the house rule set with entries put at dotted paths, or taken away."""
    content = copy.deepcopy(tree())
    content["zones"] = {"exposed": copy.deepcopy(ZONE)}
    content["cautions"]["own"] = {**NOTICE, "when": {"joining": "rings"}}
    for path, new in edits.items():
        *above, last = path.split(".")
        holder = content
        for step in above:
            holder = holder.setdefault(step, {})
        if new is GONE:
            del holder[last]
        else:
            holder[last] = new
    document = Document(file="made.yaml", tree=content, places={})
    return build(Resolved(content=content, documents=(document,)))


@lru_cache(maxsize=1)
def house():
    return made({})


def classification(after, before=None):
    """Return each entry that differs, with how it is classed."""
    old = made(before) if before else house()
    return {change.entry: change.classification for change in changes(old, made(after))}


def only(after, before=None):
    """Return how the one entry that differs is classed."""
    ((_, found),) = classification(after, before).items()
    return found


def value(name, written):
    return {f"values.{name}.value": written}


VALUES = """
    mesh_margin 2 1/8 in stricter
    mesh_margin 1 7/8 in looser
    min_web 1 1/8 in stricter
    min_web 7/8 in looser
    min_bend_angle 71 deg stricter
    min_bend_angle 69 deg looser
    mesh_opening 3/8 in stricter
    max_bend_angle 79 deg stricter
    max_bend_angle 81 deg looser
    tight_spot_drop 2 in stricter
    tight_spot_drop 3/4 in looser
    tight_spot_share 20 % stricter
    tight_spot_share 30 % looser
    waste_factor 21 % stricter
    waste_factor 19 % looser
    overlap_length 6 1/64 in stricter
    return_spacing 7 ft stricter
    return_spacing 96 in wording
    overlap_length 152.4 mm wording
    overlap_length 0.5 ft wording
    waste_factor 20.0 % wording
    web_reduction 3/4 in neutral
    piece_length 8 ft neutral
    default_clearance 5 in neutral
    bend_angle_step 2 deg neutral
"""


@pytest.mark.parametrize("case", [line.strip() for line in VALUES.strip().splitlines()])
def test_a_value_is_stricter_the_way_that_asks_more_or_allows_less(case):
    name, _, rest = case.partition(" ")
    written, _, expected = rest.rpartition(" ")
    assert only(value(name, written)) == expected


@pytest.mark.parametrize(
    ("name", "written", "expected"),
    [
        ("rings_per_overlap", 5, "stricter"),
        ("ties_per_overlap", 3, "stricter"),
        ("default_corners", 6, "neutral"),
        ("snap_bends_to_wires", True, "neutral"),
        ("stock_widths", ["4 in", "6 in", "8 in", "10 in", "14 in"], "neutral"),
        ("common_widths", ["6 in"], "neutral"),
        ("common_widths", ["152.4 mm", "203.2 mm"], "wording"),
    ],
)
def test_counts_flags_and_lists_are_classed_too(name, written, expected):
    assert only(value(name, written)) == expected


@pytest.mark.parametrize(
    ("allowed", "expected"),
    [
        ({"min": "6 in", "max": "25 in"}, "looser"),
        ({"min": "5 in", "max": "24 in"}, "looser"),
        ({"min": "5 in", "max": "20 in"}, "looser"),
        (GONE, "looser"),
        ({"min": "6 in", "max": "23 in"}, "stricter"),
        ({"min": "0.5 ft", "max": "2 ft"}, "wording"),
    ],
)
def test_the_range_in_which_overlays_may_move_a_value_counts_like_the_value(allowed, expected):
    assert only({"values.overlap_length.allowed": allowed}) == expected


def test_mesh_with_wider_openings_lets_more_through():
    finer, usual = value("mesh_opening", "3/8 in"), value("mesh_opening", "1/2 in")
    assert only(usual, finer) == "looser"


def test_a_range_where_there_was_none_is_stricter():
    assert only({"values.default_corners.allowed": {"min": 2, "max": 40}}) == "stricter"


@pytest.mark.parametrize("overlap", ["152.4 mm", "7 in"])
def test_a_range_that_is_widened_is_looser_whatever_else_changes_in_the_value(overlap):
    wider = {
        "values.overlap_length.allowed": {"min": "5 in", "max": "24 in"},
        **value("overlap_length", overlap),
    }
    assert only(wider) == "looser"


@pytest.mark.parametrize("member", ["description", "source"])
def test_what_is_said_of_a_value_is_wording(member):
    assert only({f"values.overlap_length.{member}": "from-memory"}) == "wording"


def caution(**members):
    return {"cautions.own": {**NOTICE, "when": {"joining": "rings"}, **members}}


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ({"cautions.own": GONE}, "looser"),
        ({"cautions.falls": GONE}, "looser"),
        ({"cautions.new": NOTICE}, "stricter"),
        (caution(severity="caution"), "stricter"),
        (caution(text="other"), "wording"),
        (caution(source="common-practice"), "wording"),
        (caution(clause="(a)"), "wording"),
        (caution(locked=True), "stricter"),
        ({"cautions.falls.locked": False}, "looser"),
        ({"cautions.falls.locked": GONE}, "looser"),
        ({"cautions.falls.severity": "warning"}, "looser"),
        (caution(when={}), "stricter"),
        (caution(when={"joining": ["rings", "ties"]}), "stricter"),
        (caution(when={"joining": ["rings"]}), "wording"),
        (caution(when={"joining": "ties"}), "looser"),
        (caution(when={"joining": "rings", "finish": "spray"}), "looser"),
        (caution(when={"finish": "spray"}), "looser"),
        (caution(severity="danger", when={"joining": "ties"}), "looser"),
        (caution(severity="danger", text="other"), "stricter"),
    ],
)
def test_a_caution_that_is_dropped_softened_narrowed_or_unlocked_is_looser(after, expected):
    assert only(after) == expected


ITEM = {
    "description": "d",
    "estimate": {"a": {"driver": "perimeter", "one_per": "6 ft"}},
    "source": "from-memory",
}


def item(**members):
    return {"bill.own": {**ITEM, **members}}


def need(**members):
    return item(estimate={"a": {"driver": "perimeter", "one_per": "6 ft", **members}})


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ({}, "looser"),
        (need(one_per="5 ft"), "stricter"),
        (need(one_per="7 ft"), "looser"),
        (need(one_per="72 in"), "wording"),
        (need(each=2), "stricter"),
        (need(each=1), "wording"),
        (need(driver="mesh_length"), "looser"),
        (need(when={"finish": "spray"}), "looser"),
        (item(estimate={}), "looser"),
        (item(estimate={**ITEM["estimate"], "b": {"driver": "corners"}}), "stricter"),
        (item(estimate={"b": ITEM["estimate"]["a"]}), "looser"),
        (item(spare="5 %"), "stricter"),
        (item(spare="0 %"), "wording"),
        (item(minimum=2), "stricter"),
        (item(when={"joining": "rings"}), "looser"),
        (item(pack={"name": "box", "pack_size": 10}), "neutral"),
        (item(unit="length", estimate={"a": {"driver": "perimeter"}}), "looser"),
        (item(description="other"), "wording"),
        (item(source="common-practice"), "wording"),
        (item(minimum=2, spare="5 %", description="other"), "stricter"),
        ({**item(minimum=2), **need(one_per="7 ft")}, "looser"),
    ],
)
def test_a_bill_line_that_asks_for_less_is_looser(after, expected):
    assert only(after, item()) == expected


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (item(spare="10 %"), item(spare="5 %"), "looser"),
        (item(minimum=3), item(minimum=2), "looser"),
        (item(minimum=3), item(), "looser"),
        (item(spare="10 %"), item(), "looser"),
        (need(when={"finish": "spray"}), need(), "stricter"),
        (need(when={"finish": "spray"}), need(when={"finish": "prepainted"}), "looser"),
        (need(each=3), need(each=2), "looser"),
        (need(driver="corners", one_per=2), need(driver="corners", one_per=3), "looser"),
        (need(driver="corners", one_per=2), need(driver="corners", one_per=1), "stricter"),
        (need(driver="corners", one_per=1), need(driver="corners", one_per=None), "wording"),
        (item(minimum=3, spare="5 %"), item(minimum=2, spare="9 %"), "looser"),
    ],
)
def test_a_bill_line_is_classed_by_the_worst_of_what_changed_in_it(before, after, expected):
    assert only(after, before) == expected


def test_a_new_bill_line_is_stricter():
    assert only(item()) == "stricter"


def counted(**members):
    return item(count={"a": {"driver": "tabs", **members}})


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        (counted(each=3), "stricter"),
        (counted(each=1), "looser"),
        (counted(each=2, one_per=2), "looser"),
        (counted(each=2, when={"joining": "ties"}), "looser"),
        (item(count={}), "looser"),
    ],
)
def test_what_a_layout_is_counted_by_is_classed_like_the_thumb_rule(after, expected):
    assert only(after, counted(each=2)) == expected


def zone(**members):
    return {"zones.exposed": {**ZONE, **members}}


def zone_bill(**ratio):
    return zone(bill={"screw": {"fixing": ratio}})


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ({"zones.exposed": GONE}, "looser"),
        (zone(values={"overlap_length": "9 in", "return_spacing": "6 ft"}), "stricter"),
        (zone(values={"overlap_length": "8 in", "return_spacing": "7 ft"}), "looser"),
        (zone(values={"overlap_length": "203.2 mm", "return_spacing": "72 in"}), "wording"),
        (zone(values={"overlap_length": "9 in", "return_spacing": "7 ft"}), "looser"),
        (zone(values={"overlap_length": "8 in"}), "looser"),
        (zone(values={**ZONE["values"], "waste_factor": "30 %"}), "stricter"),
        (zone(values={**ZONE["values"], "waste_factor": "10 %"}), "looser"),
        (zone(values={**ZONE["values"], "waste_factor": "20 %"}), "wording"),
        (zone(description="other"), "wording"),
        (zone(source="common-practice"), "wording"),
        (zone_bill(one_per="3 ft"), "stricter"),
        (zone_bill(one_per="5 ft"), "looser"),
        (zone_bill(one_per="48 in"), "wording"),
        (zone_bill(one_per="4 ft", each=2), "stricter"),
        (zone(bill={}), "looser"),
        (zone(bill={**ZONE["bill"], "ring": {"joining": {"one_per": "18 in"}}}), "stricter"),
        (zone(bill={**ZONE["bill"], "ring": {"joining": {"one_per": "3 ft"}}}), "looser"),
    ],
)
def test_a_zone_is_classed_against_what_held_there_before(after, expected):
    assert only(after) == expected


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({"values": {"overlap_length": "8 in"}}, "stricter"),
        ({"values": {"waste_factor": "10 %"}}, "looser"),
        ({"bill": {"screw": {"fixing": {"one_per": "4 ft"}}}}, "stricter"),
        ({"bill": {"screw": {"fixing": {"one_per": "20 ft"}}}}, "looser"),
    ],
)
def test_a_new_zone_is_classed_against_what_holds_everywhere(members, expected):
    new = {"description": "m", "source": "from-memory", **members}
    assert only({"zones.lee": new}) == expected


ROWS = "tables.suitability.rows"


def row(verdict="conditional", reason="r", **when):
    then = {"verdict": verdict, "text": reason}
    return {f"{ROWS}.own": {"when": when, "then": then, "source": "from-memory"}}


GRAVE = row(roof_covering="clay_tile", racking="rail_mounted")


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ({}, "looser"),
        (row("unsuitable", roof_covering="clay_tile", racking="rail_mounted"), "stricter"),
        (row("survey", roof_covering="clay_tile", racking="rail_mounted"), "stricter"),
        (row("suitable", roof_covering="clay_tile", racking="rail_mounted"), "looser"),
        (row(reason="other", roof_covering="clay_tile", racking="rail_mounted"), "wording"),
        (row(roof_covering="clay_tile"), "stricter"),
        (row(roof_covering=["clay_tile", "slate"], racking="rail_mounted"), "stricter"),
        (row(roof_covering=["clay_tile"], racking="rail_mounted"), "wording"),
        (row(roof_covering="slate", racking="rail_mounted"), "looser"),
        (
            row(roof_covering="clay_tile", racking="rail_mounted", poor_roof_condition=True),
            "looser",
        ),
        (
            row(
                "unsuitable",
                roof_covering="clay_tile",
                racking="rail_mounted",
                poor_roof_condition=True,
            ),
            "looser",
        ),
    ],
)
def test_a_row_that_is_dropped_milder_or_narrower_is_looser(after, expected):
    assert only(after, GRAVE) == expected


@pytest.mark.parametrize(
    ("end", "written", "expected"),
    [
        ("too_high", {"at_least": "9 in"}, "stricter"),
        ("too_high", {"at_least": "11 in"}, "looser"),
        ("too_high", {"at_least": "254 mm"}, "wording"),
        ("too_high", {"at_least": "10 in", "below": "20 in"}, "looser"),
        ("too_low", {"below": "2 in"}, "stricter"),
        ("too_low", {"below": "1 in"}, "looser"),
        ("too_low", {"below": "38.1 mm"}, "wording"),
        ("too_low", {"at_least": "1 in", "below": "1 1/2 in"}, "looser"),
        ("too_low", {"at_least": "1 in", "below": "2 in"}, "looser"),
    ],
)
def test_a_range_that_takes_in_more_of_a_grave_verdict_is_stricter(end, written, expected):
    assert only({f"{ROWS}.{end}.when.clearance": written}) == expected


def test_a_new_row_is_stricter_unless_it_says_suitable():
    for verdict in ("unsuitable", "survey", "conditional"):
        assert only(row(verdict, roof_covering="clay_tile")) == "stricter"
    assert (
        only(row("suitable", roof_covering="clay_tile", racking="rail_mounted", measured=True))
        == "neutral"
    )


def test_words_of_a_table_are_wording_and_other_ends_of_an_attachment_are_neutral():
    assert only({"tables.suitability.description": "m"}) == "wording"
    shape = {"tables.attachment.rows.rails.then.shape": "L"}
    assert only(shape) == "neutral"
    note = {"tables.attachment.rows.rails.then.note": "Said otherwise."}
    assert only(note) == "wording"
    assert only({"tables.attachment.rows.rails.then.note": GONE}) == "wording"


def test_an_attachment_that_is_decided_where_it_was_left_to_a_survey_is_looser():
    decided = {"tables.attachment.rows.not_decided.then.attachment": "rails"}
    assert only(decided) == "looser"
    assert only({}, decided) == "stricter"


@pytest.mark.parametrize(
    ("after", "entry", "expected"),
    [
        ({"sources.common-practice.title": "t"}, "sources.common-practice", "wording"),
        ({"sources.new": {"title": "t", "status": "no source"}}, "sources.new", "wording"),
        ({"units": "metric"}, "units", "neutral"),
        ({"tools.gloves.description": "d"}, "tools.gloves", "neutral"),
        ({"tools.bending_brake": GONE}, "tools.bending_brake", "neutral"),
        ({"tools.gloves": GONE}, "tools.gloves", "looser"),
        ({"tools.gloves.need": "helpful"}, "tools.gloves", "looser"),
        ({"tools.gloves.when": {"joining": "rings"}}, "tools.gloves", "looser"),
        ({"tools.ring_tool.when": GONE}, "tools.ring_tool", "stricter"),
        ({"tools.bending_brake.need": "needed"}, "tools.bending_brake", "stricter"),
        ({"tools.bending_brake.when": {"joining": "rings"}}, "tools.bending_brake", "neutral"),
        ({"tools.new": {**TOOL, "need": "needed"}}, "tools.new", "stricter"),
        ({"tools.new": {**TOOL, "need": "helpful"}}, "tools.new", "neutral"),
    ],
)
def test_sources_are_wording_units_neutral_and_a_tool_counts_where_it_is_needed(
    after, entry, expected
):
    assert classification(after) == {entry: expected}


def test_two_versions_that_are_the_same_have_no_changes():
    assert changes(house(), made({})) == ()


def test_the_head_of_a_file_is_no_change_of_a_rule():
    assert classification({"title": "other", "change": "c", "version": "1.1.0"}) == {}


def test_a_change_tells_the_entry_before_and_after_with_its_source_and_what_it_affects():
    (change,) = changes(house(), made(value("overlap_length", "7 in")))
    assert change.entry == "values.overlap_length"
    assert change.affects == "layout"
    assert (change.before["value"], change.after["value"]) == ("6 in", "7 in")
    assert change.source == house().content["sources"]["common-practice"]["title"]


def test_what_was_added_or_removed_is_null_on_the_other_side():
    (added,) = changes(house(), made(item()))
    assert (added.before, added.after) == (None, ITEM)
    (removed,) = changes(made(item()), house())
    assert (removed.before, removed.after) == (ITEM, None)
    assert removed.source


@pytest.mark.parametrize(
    ("after", "affects"),
    [
        (value("mesh_margin", "3 in"), "sizing"),
        (value("waste_factor", "30 %"), "materials"),
        (value("default_clearance", "5 in"), "suitability"),
        (value("rail_inset", "21 %"), "layout"),
        (value("max_return_reach", "2 ft"), "layout"),
        (item(), "materials"),
        ({"tools.gloves.description": "d"}, "tools"),
        (caution(text="other"), "cautions"),
        (zone(description="other"), "layout"),
        (row(roof_covering="clay_tile"), "suitability"),
        ({"sources.common-practice.title": "t"}, "text"),
    ],
)
def test_a_change_tells_what_it_affects(after, affects):
    assert [change.affects for change in changes(house(), made(after))] == [affects]


def test_changes_stand_in_the_order_of_the_sections_and_each_entry_once():
    after = {
        **row(roof_covering="clay_tile"),
        **item(),
        **caution(text="x"),
        **value("overlap_length", "7 in"),
    }
    found = [change.entry for change in changes(house(), made(after))]
    assert found == ["values.overlap_length", "bill.own", "cautions.own", f"{ROWS}.own"]


CLIPS = {
    "when": {"roof_covering": "membrane"},
    "then": {"attachment": "frame_clips", "shape": "C"},
    "source": "from-memory",
}
FIRST = {"tables.attachment.hit_policy": "FIRST"}


def in_turn(*names, **own):
    """Return the house rule set whose attachment is decided by the first row of these."""
    rows = {**tree()["tables"]["attachment"]["rows"], **own}
    return made({**FIRST, "tables.attachment.rows": {name: rows[name] for name in names}})


REST = ("frame_clips", "not_decided")


def test_rows_that_decide_in_turn_and_change_places_are_a_change():
    """The digest is another one, and so are answers: someone must look at it."""
    one = in_turn("rails", "membrane", *REST, membrane=CLIPS)
    other = in_turn("membrane", "rails", *REST, membrane=CLIPS)
    assert one.digest != other.digest
    (change,) = changes(one, other)
    assert (change.entry, change.affects) == ("tables.attachment.order", "suitability")
    assert change.before == ["rails", "membrane", *REST]
    assert change.after == ["membrane", "rails", *REST]
    assert change.classification == "neutral"


@pytest.mark.parametrize(
    ("decided", "before", "after", "expected"),
    [
        ("undecided", "membrane rails", "rails membrane", "looser"),
        ("undecided", "rails membrane", "membrane rails", "stricter"),
        ("frame_clips", "not_decided membrane", "membrane not_decided", "looser"),
        ("frame_clips", "membrane not_decided", "not_decided membrane", "stricter"),
        ("undecided", "not_decided membrane", "membrane not_decided", "neutral"),
    ],
)
def test_an_order_that_decides_what_was_left_to_a_survey_is_looser(
    decided, before, after, expected
):
    own = {**CLIPS, "then": {"attachment": decided, "shape": "C"}}
    names = ("rails", "frame_clips", "not_decided", "membrane")
    first, second = (
        in_turn(*order.split(), *(n for n in names if n not in order.split()), membrane=own)
        for order in (before, after)
    )
    (change,) = changes(first, second)
    assert change.classification == expected


def test_rows_that_share_no_case_change_places_without_any_answer_changing():
    (change,) = changes(in_turn("rails", *REST), in_turn(*REST, "rails"))
    assert (change.entry, change.classification) == ("tables.attachment.order", "neutral")
    collected = tree()["tables"]["suitability"]["rows"]
    turned = {f"{ROWS}": dict(reversed(collected.items()))}
    assert classification(turned) == {"tables.suitability.order": "neutral"}


def test_a_row_that_is_added_or_dropped_is_no_other_order():
    one = in_turn("rails", *REST)
    other = in_turn("membrane", "rails", *REST, membrane=CLIPS)
    assert [change.entry for change in changes(one, other)] == ["tables.attachment.rows.membrane"]


def test_lines_of_the_bill_that_change_places_are_a_neutral_change():
    bill = tree()["bill"]
    names = list(bill)
    names[-1], names[-2] = names[-2], names[-1]
    (change,) = changes(house(), made({"bill": {name: bill[name] for name in names}}))
    assert (change.entry, change.classification, change.affects) == ("bill", "neutral", "materials")
    assert (change.before, change.after) == (list(bill), names)


def test_only_what_asks_for_less_loosens():
    after = {
        **value("overlap_length", "7 in"),
        **value("mesh_margin", "1 in"),
        "cautions.own": GONE,
    }
    loosened = [change.entry for change in loosens(house(), made(after))]
    assert loosened == ["values.mesh_margin", "cautions.own"]


def test_turning_a_change_round_turns_its_class_round():
    turned = {
        "stricter": "looser",
        "looser": "stricter",
        "neutral": "neutral",
        "wording": "wording",
    }
    for after in (
        value("overlap_length", "7 in"),
        value("max_bend_angle", "79 deg"),
        value("web_reduction", "3/4 in"),
        value("overlap_length", "152.4 mm"),
        {"cautions.own": GONE},
        item(),
        zone(values={"overlap_length": "9 in", "return_spacing": "6 ft"}),
    ):
        there = {c.entry: c.classification for c in changes(house(), made(after))}
        back = {c.entry: c.classification for c in changes(made(after), house())}
        assert back == {entry: turned[found] for entry, found in there.items()}


def test_the_shipped_baseline_moves_nothing_but_its_minor_number_and_loosens_nothing():
    shelf = Shelf(HISTORY)
    before, after = (shelf.load(shelf.ledger["baseline"][v]) for v in ("1.0.0", "1.1.0"))
    found = {change.entry: change.classification for change in changes(before, after)}
    assert found["bill.spray_paint"] == "stricter"
    assert found["cautions.heat"] == "stricter"
    assert found["zones.exposed"] == "stricter"
    assert not loosens(before, after)
