"""Rules are told in words that someone who writes none of them understands."""

from __future__ import annotations

import pytest
from gapwright.api.rules_pages.words import (
    condition,
    conditions,
    effort,
    flat,
    need,
    pack,
    text_of,
)


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"driver": "corners"}, "one for each corner"),
        ({"driver": "end_cap"}, "one for each end cap"),
        ({"driver": "penetrations", "each": 4}, "4 for each penetration"),
        ({"driver": "corners", "one_per": 10}, "one for every 10 corners or part of it"),
        (
            {"driver": "perimeter", "one_per": "6 ft", "when": {"joining": "rings"}},
            "one for each 6 ft of perimeter or part of it, where joining is rings",
        ),
        (
            {
                "driver": "overlap_ties",
                "when": {"joining": "ties", "finish": ["spray", "prepainted"]},
            },
            "one for each overlap tie, where joining is ties and finish is spray or prepainted",
        ),
    ],
)
def test_a_need_is_a_sentence_part(entry, words):
    assert need(entry, measured=False) == words


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"driver": "job", "time": "1 h"}, "1 h for each job"),
        ({"driver": "planes", "time": "20 min"}, "20 min for each plane"),
        ({"driver": "corners", "time": "5 min", "one_per": 2}, "5 min for every 2 corners"),
        (
            {
                "driver": "perimeter",
                "time": "6 min",
                "one_per": "10 ft",
                "when": {"bending": "hand"},
            },
            "6 min for each 10 ft of perimeter, where bending is hand",
        ),
    ],
)
def test_a_reason_for_work_is_a_sentence_part_and_parts_of_it_count(entry, words):
    assert effort(entry) == words


def test_what_is_measured_is_needed_by_its_length():
    words = need({"driver": "mesh_length"}, measured=True)
    assert words == "as much as the perimeter plus the waste factor"


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (None, "by the piece"),
        ({"name": "can", "pack_size": 1}, "single can"),
        ({"name": "box", "pack_size": 100}, "box of 100"),
        (
            {"name": "roll", "pack_size": "100 ft", "also": ["50 ft"]},
            "roll of 100 ft or 50 ft",
        ),
    ],
)
def test_a_pack_says_what_it_holds(entry, words):
    assert pack(entry) == words


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (True, "yes"),
        (False, "no"),
        ("standing_seam_metal", "standing seam metal"),
        (["slate", "tile", "wood_shake"], "slate, tile or wood shake"),
        ({"at_least": "10 in"}, "from 10 in up"),
        ({"below": "1 1/2 in"}, "below 1 1/2 in"),
        ({"at_least": "2 in", "below": "8 in"}, "from 2 in to below 8 in"),
    ],
)
def test_a_condition_says_what_it_asks_for(raw, words):
    assert condition(raw) == words
    assert conditions({"roof_kind": raw}) == f"roof kind is {words}"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "none"),
        (0, "0"),
        (2.5, "2.5"),
        ([], "none"),
        ({}, "is there"),
        ("C or L", "C or L"),
        (["4 in", "4 in", "4 in", "5 in", "4 in"], "4 in (3 times), 5 in, 4 in"),
        ({"value": 4.5, "unit": "in", "text": "4 1/2 in"}, "4 1/2 in"),
        ({"value": 1, "unit": "mm", "text": "1 mm", "rounded": "up"}, "1 mm (rounded up)"),
    ],
)
def test_a_value_is_told_as_people_write_it(value, text):
    assert text_of(value) == text


def test_nothing_of_a_nested_answer_is_left_out():
    answer = {
        "lines": [{"item": "ring", "packs": {"count": 1}}, {"item": "tie", "packs": None}],
        "width": {"value": 8, "unit": "in", "text": "8 in"},
        "because": ["one", "two"],
    }
    assert list(flat(answer)) == [
        ("lines 1, item", "ring"),
        ("lines 1, packs, count", "1"),
        ("lines 2, item", "tie"),
        ("lines 2, packs", "none"),
        ("width", "8 in"),
        ("because", "one, two"),
    ]
