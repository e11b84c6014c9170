"""The sheet holds what a crew needs of the quote, and fits the paper."""

from __future__ import annotations

import re

import pytest
from gapwright.calc.conditions import cautions

from tests.unit.sheet.jobs import (
    A4,
    DAY,
    LETTER,
    RECEIPTS,
    Sheet,
    block,
    example,
    page_text,
    printed,
    rules,
    shown,
    spaced,
)

NAMES = ("quote-house", "quote-sparse")
BOTH = [(name, units) for name in NAMES for units in ("imperial", "metric")]


@pytest.fixture(params=BOTH, ids=["-".join(one) for one in BOTH])
def sheet(request: pytest.FixtureRequest) -> Sheet:
    return shown(*request.param)


def test_every_caution_of_the_answer_stands_on_it_with_its_source(sheet: Sheet):
    given = cautions(sheet.found.facts, rules())
    assert len(given) > 10
    for caution in given:
        assert spaced(f"{caution.severity.upper()} {caution.text} {caution.source}") in sheet.text


def test_cautions_stand_before_all_else_gravest_first(sheet: Sheet):
    words = [caution["word"] for caution in sheet.data["cautions"]]
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    assert words == sorted(words, key=order.index)
    text = sheet.text
    heads = ("Cautions", "Verdict", "Material list", "Channel", "Sequence", "Sign-off")
    places = [text.index(head) for head in heads]
    assert places == sorted(places)


def test_every_quantity_pack_and_weight_stands_on_it(sheet: Sheet):
    bill = sheet.answer["bill"]
    assert f"Total weight of the mesh used: {bill['mesh_weight']['text']}." in sheet.text
    for use, order in zip(bill["lines"], bill["order"], strict=True):
        packs = f"{order['packs']} × {order['pack']} of"
        assert packs in sheet.text
        if use["unit"] == "each":
            uses = f"{use['quantity']} {order['remaining']}"
            row = f"{packs} {order['pack_size']} {use['description']} {uses}"
            assert spaced(row) in sheet.text
        else:
            assert order["weight"]["text"] in sheet.text


def test_mesh_stands_with_its_lengths_as_a_tape_reads_them():
    row = "strip 8 in wide, C channel 141 ft 11 in 58 ft 1 in 37.2 lb"
    assert row in shown("quote-house").text


def test_every_figure_of_the_channel_stands_on_it(sheet: Sheet):
    for sizing in sheet.answer["sizing"]:
        profile = sizing["profile"]
        low, high = (length["text"] for length in profile["bend_lines"])
        free = profile["free_height"]
        turn = profile["bend_angle"]
        for row in (
            f"Strip, flat {sizing['strip']['width']['text']}",
            f"Bend lines, from one edge {low} and {high}",
            f"Bend angle, from flat {turn['min']}° to {turn['max']}°",
            f"Web, flange {profile['web']['text']}, {profile['flange']['text']}",
            f"Free height {free['max']['text']} to {free['min']['text']}",
            f"Clearance, largest {sizing['clearance']['governing']['text']}",
            f"Clearance, smallest {sizing['clearance']['smallest']['text']}",
        ):
            assert row in sheet.text


def test_every_hour_crew_and_day_stands_on_it(sheet: Sheet):
    labor, schedule = sheet.answer["labor"], sheet.answer["schedule"]
    for task in (*labor["tasks"], *labor["labor_factors"]):
        assert re.search(
            rf"{re.escape(task['description'].split('. ')[0])}.*? {task['time']['text']}",
            sheet.text,
        )
    assert f"crew of {labor['crew']}, {labor['days']} day" in sheet.text
    assert f"{labor['person_hours']['text']} total" in sheet.text
    assert f"{schedule['hours_on_site']['text']} on site" in sheet.text
    assert f"with a working day of {schedule['working_day']['text']}" in sheet.text


def test_tools_conditions_reasons_and_assumptions_stand_on_it(sheet: Sheet):
    answer = sheet.answer
    tools = [*answer["tools"]["needed"], *answer["tools"]["helpful"]]
    told = [tool["description"] for tool in tools]
    for reason in answer["suitability"]["reasons"]:
        told += [reason["text"], reason["remedy"] or ""]
    on_site = [one for one in answer["assumptions"] if one["name"] not in ("crew", "working_day")]
    told += [
        f"{one['description']} {one['assumed']} {one['low']} to {one['high']}" for one in on_site
    ]
    for text in told:
        assert spaced(text) in sheet.text


def test_conditions_are_to_be_ticked_before_work_begins():
    text = shown("quote-sparse").text
    assert "Verdict: conditional" in text
    assert "Resolve each item before work starts The clearance has not been measured." in text
    assert "before work starts" not in shown("quote-house").text


def test_no_note_to_the_authors_of_the_rules_stands_on_it(sheet: Sheet):
    assert "calibrate" not in sheet.text


def test_it_fits_one_to_four_pages_of_letter_or_a4(sheet: Sheet):
    pages = list(sheet.document)
    assert 1 <= len(pages) <= 4
    paper = LETTER if sheet.data["paper"] == "us-letter" else A4
    for page in pages:
        assert (round(page.get_width()), round(page.get_height())) == paper


def test_every_page_names_the_rules_the_receipt_and_its_number(sheet: Sheet):
    pages = list(sheet.document)
    for number, page in enumerate(pages, 1):
        text = spaced(page_text(page))
        assert f"Rules {rules().name} {rules().digest}, engine" in text
        assert f"Request {RECEIPTS.request} Result {RECEIPTS.result}" in text
        assert f"Page {number} of {len(pages)}" in text


def test_the_first_page_has_the_day_of_the_answer_and_its_rule_set(sheet: Sheet):
    first = spaced(page_text(sheet.document[0]))
    assert f"Date {DAY.isoformat()} Rules {rules().name}" in first


def test_a_legend_is_on_the_page_of_each_plan():
    document = shown("quote-house").document
    texts = [spaced(page_text(page)) for page in document]
    plans = [text.count("Plan: ") for text in texts]
    assert sum(plans) == 2
    assert [text.count("Legend") for text in texts] == plans


def test_the_last_page_is_never_nearly_empty(sheet: Sheet):
    """It has the checks, the labor and the sign-off, and lines to write on below them."""
    last = spaced(page_text(list(sheet.document)[-1]))
    heads = ("Before closing", "Before leaving", "Labor", "Sign-off")
    assert all(head in last for head in heads)
    assert last.count("Printed name") == last.count("signature") == 4


def test_room_below_the_sign_off_is_for_changes():
    text = shown("quote-sparse").text
    assert text.index("Sign-off") < text.index("Changes and measurements")


def test_the_same_job_gives_the_same_bytes():
    again = printed(example("quote-house") | {"units": "imperial"})
    assert again.pdf == shown("quote-house").pdf
    assert b"CreationDate" not in again.pdf


def test_twenty_planes_each_have_a_drawing_and_a_cut_list():
    sheet = printed(example("quote-house") | {"planes": [block(2, 3)] * 20, "alternatives": False})
    for number in range(1, 21):
        assert f"plane {number} 6 modules" in sheet.text
        assert f"plane {number} 4 pieces at 10 ft" in sheet.text


def test_a_sheet_of_four_hundred_modules_has_a_page_for_its_plan():
    request = example("quote-house") | {"planes": [block(20, 20)], "alternatives": False}
    sheet = printed(request)
    assert "400 modules" in sheet.text
    assert 3 <= len(sheet.document) <= 6


def test_what_the_layout_cannot_decide_stands_below_its_drawing():
    far = block(2, 3, penetrations=[{"x": "500 in", "y": "500 in"}], sides=[{"side": "Z-eave"}])
    sheet = printed(example("quote-house") | {"planes": [far]})
    kinds = {warning["code"] for warning in sheet.answer["layout"]["warnings"]}
    assert kinds == {"penetration_away", "unknown_side"}
    assert "Check 1: Unknown side Z-eave" in sheet.text
    assert "Check 2: A penetration here is too far from any side for a cutout" in sheet.text


def test_drawn_planes_and_estimated_arrays_share_a_sheet():
    planes = [block(2, 3, name="South"), {"name": "Shed", "arrays": [{"perimeter": "40 ft"}]}]
    sheet = printed(example("quote-house") | {"planes": planes})
    assert "Shed 40 ft not given 0 8 in" in sheet.text
    assert "South 6 modules" in sheet.text
    assert "Measure each side of the arrays that are not drawn" in sheet.text
    assert "Cut the pieces roll by roll" in sheet.text


def test_planes_with_their_own_clearance_have_their_own_channel():
    planes = [
        block(2, 3, name="High"),
        block(2, 3, name="Low", clearance={"readings": ["2 1/2 in"]}),
    ]
    sheet = printed(example("quote-house") | {"planes": planes})
    assert [section["arrays"] for section in sheet.data["sections"]] == ["High", "Low"]
    widths = {roll["width"] for roll in sheet.data["rolls"]}
    assert len(widths) == 2
    for width in widths:
        assert f"{width} wide" in sheet.text


def test_a_survey_is_called_for_in_the_verdict():
    sheet = printed(example("quote-house") | {"roof_covering": "unknown"})
    assert sheet.answer["suitability"]["verdict"] == "survey"
    assert "Verdict: survey first" in sheet.text
    assert "Install nothing until a qualified person has inspected the roof" in sheet.text
