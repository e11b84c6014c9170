"""The cut list as it is printed: piece by piece what the quote's layout says."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import pytest

from tests.unit.calls.layouts import segment
from tests.unit.sheet.jobs import block, example, printed, shown

WORDS = {
    "overlap ends": "overlap_ends",
    "tab, side of rail": "tab",
    "tab": "tab",
    "outside corner": "corner",
    "INSIDE CORNER": "corner",
    "cutout": "penetration",
    "next piece starts": "next_overlaps",
    "return bend": "return_bend",
    "CUT": "end",
}
AT = r"(?:\d+ ft(?: \d+(?: \d+/\d+)? in| \d+/\d+ in)?|\d+(?: \d+/\d+)? in|\d+/\d+ in|[\d.]+ m)"
MARK = re.compile(rf"({AT}) ({'|'.join(WORDS)})")
MARKS = re.compile(rf"(?:{MARK.pattern} ?)+")
PIECE = re.compile(r"(A\.\d+) roll \d+ (?:A\d+(?:, | ))+")


def cut_list(text: str) -> str:
    """Return the part of a printed sheet that lists pieces with their marks."""
    return text[text.index("Tape marks") : text.index("Cut plan")]


def read(text: str) -> list[tuple[str, str]]:
    """Return the pieces of a printed cut list: the name, and what stands in its row."""
    rows = re.sub(r"West \d+ pieces at .*?Piece Cut Tape marks ", "", cut_list(text))
    found = list(PIECE.finditer(rows))
    ends = [one.start() for one in found[1:]] + [len(rows)]
    return [(one[1], rows[one.end() : to]) for one, to in zip(found, ends, strict=True)]


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_every_piece_stands_with_its_cut_length_and_all_its_marks(units: str):
    sheet = shown("quote-house", units)
    text = re.sub(r"Rules baseline.*?Page \d of \d demo-1 ", "", sheet.text)
    pieces = sheet.answer["layout"]["pieces"]
    for (name, row), piece in zip(read(text), pieces, strict=True):
        assert name == piece["piece"]
        cut = f"{piece['cut_length']['text']} "
        assert row.startswith(cut)
        assert MARKS.fullmatch(row.removeprefix(cut)), row
        marks = [(at, WORDS[word]) for at, word in MARK.findall(row.removeprefix(cut))]
        told = [(m["at"]["text"], m["kind"]) for m in piece["marks"][:-1]]
        assert Counter(marks) == Counter([*told, (piece["cut_length"]["text"], "end")])


def test_pieces_of_standard_length_are_cut_as_a_group_and_others_one_by_one():
    sheet = shown("quote-house")
    for plane in ("South", "West"):
        pieces = [p for p in sheet.answer["layout"]["pieces"] if p["plane"] == plane]
        standard = [p["piece"] for p in pieces if p["cut_length"]["text"] == "10 ft"]
        others = [p for p in pieces if p["piece"] not in standard]
        assert len(standard) > 1
        assert others
        group = f"{plane} {len(standard)} pieces at 10 ft: {', '.join(standard)}."
        one_by_one = " ".join(f"{p['cut_length']['text']}: {p['piece']}" for p in others)
        assert f"{group} {one_by_one} Piece Cut Tape marks" in sheet.text


LEVEL, UPRIGHT = {"direction": "eave"}, {"direction": "slope"}
BOTH_WAYS = {"segments": [segment(-3, 33, 250, 33), segment(60, -3, 60, 142)]}
UPSLOPE_KEY = "Tab: on the upslope face of the rail."
BESIDE_KEY = "Tab, side of rail: on the side of a rail that runs up the slope."


@pytest.mark.parametrize(
    ("rails", "key", "words"),
    [
        ([LEVEL], f"{UPSLOPE_KEY} Return bend", {"tab"}),
        (
            [UPRIGHT, UPRIGHT],
            f"overlaps from this mark. {BESIDE_KEY} Return bend",
            {"tab, side of rail"},
        ),
        ([UPRIGHT, LEVEL], f"{UPSLOPE_KEY} {BESIDE_KEY} Return bend", {"tab", "tab, side of rail"}),
        ([BOTH_WAYS], f"{UPSLOPE_KEY} {BESIDE_KEY} Return bend", {"tab", "tab, side of rail"}),
        ([], "overlaps from this mark. Return bend", set()),
    ],
)
def test_where_a_tab_goes_is_told_by_its_rail(rails: list[Any], key: str, words: set[str]):
    planes = [
        block(2, 3, name=f"p{at}", rails=told) for at, told in enumerate([{"none": True}, *rails])
    ]
    sheet = printed(example("quote-house") | {"planes": planes, "alternatives": False})
    assert key in sheet.text
    marks = MARK.findall(cut_list(sheet.text))
    assert {word for _, word in marks if word.startswith("tab")} == words


def test_an_inside_corner_is_told_from_an_outside_one():
    text = shown("quote-house").text
    corners = [
        m["text"] for p in shown("quote-house").answer["layout"]["pieces"] for m in p["marks"]
    ]
    inside = [text.removeprefix("inside corner at ") for text in corners if "inside" in text]
    assert inside
    for at in inside:
        assert f"{at} INSIDE CORNER" in text


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_the_cut_plan_stands_roll_by_roll(units: str):
    sheet = shown("quote-house", units)
    for number, roll in enumerate(sheet.answer["layout"]["cut_plan"]["rolls"], 1):
        assert f"Roll {number}" in sheet.text
        assert roll["remnant"]["text"] in sheet.text
        for piece in roll["pieces"]:
            start, length = piece["start"]["text"], piece["length"]["text"]
            place = rf"{start} (South|West) {piece['piece']} \({length}\)"
            assert re.search(place, sheet.text)


def test_a_piece_is_cut_once_and_from_the_roll_that_its_list_names():
    sheet = shown("quote-house")
    planned = Counter(
        (f"{piece['plane']} {piece['piece']}", number, piece["length"]["text"])
        for number, roll in enumerate(sheet.data["rolls"], 1)
        for piece in roll["pieces"]
    )
    listed = Counter(
        (f"{cut['title']} {piece['name']}", int(piece["roll"].split()[1]), piece["cut"])
        for cut in sheet.data["cut_list"]
        for piece in cut["pieces"]
    )
    assert planned == listed
    assert set(planned.values()) == {1}


def test_planes_of_one_name_are_told_apart():
    planes = [block(1, 3, name="Roof"), block(2, 3, name="Roof"), block(1, 2, name="Roof")]
    sheet = printed(example("quote-house") | {"planes": planes})
    assert [cut["title"] for cut in sheet.data["cut_list"]] == ["Roof", "Roof (2)", "Roof (3)"]
    pieces = [piece for roll in sheet.data["rolls"] for piece in roll["pieces"]]
    names = [f"{sheet.data['titles'][piece['plane']]} {piece['piece']}" for piece in pieces]
    assert len(names) == len(set(names))
    assert all(f" {name} (" in sheet.text for name in names)


def test_pieces_of_a_job_with_one_plane_need_no_name_of_it():
    sheet = printed(example("quote-house") | {"planes": [block(2, 3)]})
    plan = sheet.text[sheet.text.index("Cut plan") :]
    assert "A.1 (" in plan
    assert "plane 1 A." not in plan


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_each_channel_has_its_section_with_its_sides_and_each_piece_names_its_channel(units: str):
    high = {"sides": [{"side": "A2", "clearance": {"readings": ["7 1/4 in"]}}]}
    roof = {"roof_covering": "asphalt_shingle", "racking": "rail_mounted", "units": units}
    planes = [block(2, 3, name="South", **high), block(1, 3, name="West")]
    sheet = printed({**roof, "clearance": {"readings": ["4 1/2 in"]}, "planes": planes})
    first, second = sheet.answer["sizing"]
    assert "Channel S1 South (A1, A3, A4), West" in sheet.text
    assert "Channel S2 South (A2)" in sheet.text
    for sizing in (first, second):
        assert sizing["strip"]["width"]["text"] in sheet.text
    assert [s["svg"] is not None for s in sheet.data["sections"]] == [True, True]
    listed = [
        piece["sides"].rpartition("channel ")[2]
        for part in sheet.data["cut_list"]
        for piece in part["pieces"]
    ]
    assert listed == [piece["strip"] for piece in sheet.answer["layout"]["pieces"]]
