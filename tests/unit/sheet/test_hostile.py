"""What callers write is printed as it is: never evaluated, and never wider than the page."""

from __future__ import annotations

import pytest
from pypdfium2 import PdfPage

from tests.unit.sheet.jobs import Sheet, example, printed, spaced

MARKUP = (
    "#panic()",
    '#image("/etc/passwd")',
    '#import "@preview/nothing:1.0.0"',
    "$x^2$ and $$",
    r"back\slash \u{41} \\",
    "*bold* _slant_ `raw` == head",
    "<label> @ref // comment /* and */",
    "[link](https://example.com) https://example.com/a--b",
    "\"quoted\" 'single' ... -- ---",
    "{{ braces }} %s {0}",
    "</svg><script>alert(1)</script>",
)
MARGIN_PT = 40
"""The margin of 15 mm less the little by which the box of a letter exceeds its ink."""
MEMBERS = ("title", "reference", "place", "customer", "prepared_by", "note")


def told(text: str, note: str | None = None) -> Sheet:
    """Return the sheet of a job whose head says the same everywhere."""
    job = dict.fromkeys(MEMBERS, text) | {"note": text if note is None else note}
    return printed(example("quote-sparse") | {"job": job})


@pytest.mark.parametrize("text", MARKUP)
def test_markup_of_any_kind_is_printed_letter_by_letter(text: str):
    sheet = told(text)
    assert sheet.text.count(spaced(text)) >= len(MEMBERS)
    assert sheet.document.get_metadata_dict()["Title"] == text


@pytest.mark.parametrize("text", ["W" * 120, "iW" * 60, "ab-" * 40, "-" * 120, "🔥" * 120])
def test_a_word_of_any_length_stays_on_the_page(text: str):
    sheet = told(text)
    for page in sheet.document:
        assert rightmost(page) <= page.get_width() - MARGIN_PT


def test_six_hundred_letters_of_note_are_all_printed():
    words = " ".join(f"note{number:03}" for number in range(75))[:600]
    assert spaced(words) in told("job", words).text


def test_a_note_keeps_its_lines():
    assert told("job", "first\nsecond\r\n\r\nthird").data["note"] == [
        "first",
        "second",
        "",
        "third",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "גדר רשת סביב הגג",
        "\u202eright to left override\u202c",
        "👩🏽‍🔧 roof 🏠",
        "e\u0301\u0301\u0301 Z̴͐a̷l̵g̶o",
        "\x00\x07\x1b[31m\x7f control",
        "\u2028 line \u2029 paragraph",
        "漢字かな交じり文",
    ],
)
def test_any_script_prints_on_as_many_pages_as_plain_words(text: str):
    assert len(told(text).document) == len(told("plain").document)


def test_names_of_planes_and_arrays_do_not_break_the_tables():
    name = "N" * 40
    planes = [{"name": name, "arrays": [{"name": name, "perimeter": "60 ft"}] * 3}]
    sheet = printed(example("quote-sparse") | {"planes": planes})
    for page in sheet.document:
        assert rightmost(page) <= page.get_width() - MARGIN_PT


def rightmost(page: PdfPage) -> float:
    """Return where the letter that stands furthest right ends [pt]."""
    text = page.get_textpage()
    return max(text.get_charbox(number)[2] for number in range(text.count_chars()))
