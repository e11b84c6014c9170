"""The rule file that comes with the service: it loads, and every entry says what it is for."""

from __future__ import annotations

import pytest
from gapwright.rulesets.reader import read
from gapwright.rulesets.values import REQUIRED

from tests.unit.make import BASELINE, baseline, baseline_text
from tests.unit.measures import FT, IN, inches

TREE = read(baseline_text().encode(), "f").tree
ROWS = {
    f"tables.{table}.{row}": entry
    for table, part in TREE["tables"].items()
    for row, entry in part["rows"].items()
}
SOURCED = {
    f"{section}.{name}": entry
    for section in ("values", "bill", "tools", "cautions")
    for name, entry in TREE[section].items()
} | ROWS


def test_the_file_stands_where_its_name_and_version_say():
    rules = baseline()
    assert (
        (BASELINE.parent.name, BASELINE.stem) == (rules.id, rules.version) == ("baseline", "1.0.0")
    )


@pytest.mark.parametrize("name", REQUIRED)
def test_every_value_that_the_calculation_takes_has_its_meaning(name):
    description = TREE["values"][name]["description"]
    assert description.endswith(".")
    assert len(description.split()) >= 4


@pytest.mark.parametrize("name", SOURCED)
def test_every_entry_names_a_source_that_the_file_lists(name):
    assert SOURCED[name]["source"] in TREE["sources"]


def test_no_source_is_listed_that_nothing_cites():
    zones = TREE.get("zones", {}).values()
    cited = {entry["source"] for entry in (*SOURCED.values(), *zones)}
    assert set(TREE["sources"]) == cited


def test_what_stands_without_a_publication_says_so():
    assert TREE["sources"]["common-practice"]["status"] == "no source"
    assert TREE["sources"]["from-memory"]["status"] == "from memory"


@pytest.mark.parametrize("name", TREE["cautions"])
def test_every_caution_is_whole_sentences_in_plain_words(name):
    text = TREE["cautions"][name]["text"]
    assert text[0].isupper()
    assert text.endswith(".")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("mesh_margin", 2 * IN),
        ("stock_widths", tuple(width * IN for width in (4, 6, 8, 10, 12))),
        ("common_widths", (6 * IN, 8 * IN)),
        ("web_reduction", inches("1/2")),
        ("min_bend_angle", 70),
        ("max_bend_angle", 80),
        ("mesh_opening", inches("1/2")),
        ("piece_length", 10 * FT),
        ("overlap_length", 6 * IN),
        ("rings_per_overlap", 4),
        ("ties_per_overlap", 2),
        ("return_spacing", 8 * FT),
    ],
)
def test_the_thresholds_are_those_of_common_practice(name, value):
    assert getattr(baseline().values, name) == value


@pytest.mark.parametrize(
    ("item", "need", "driver", "one_per"),
    [
        ("screw", "fixing", "perimeter", 6 * FT),
        ("ring", "joining", "perimeter", 2 * FT),
        ("tie", "joining", "perimeter", 4 * FT),
        ("tie", "binding", "screw", 1),
        ("washer", "fixing", "screw", 1),
    ],
)
def test_the_ratios_of_the_bill_are_those_of_common_practice(item, need, driver, one_per):
    items = {entry.id: entry for entry in baseline().bill}
    needs = {entry.id: entry for entry in items[item].needs}
    assert (needs[need].driver, needs[need].each, needs[need].one_per) == (driver, 1, one_per)


def test_mesh_comes_in_rolls_of_a_hundred_feet_and_also_of_fifty():
    mesh = next(item for item in baseline().bill if item.id == "mesh")
    assert (mesh.pack.pack_size, mesh.pack.also) == (100 * FT, (50 * FT,))


def test_no_text_calls_half_inch_mesh_mouse_proof():
    told = [entry["text"] for entry in TREE["cautions"].values() if "mouse" in entry["text"]]
    assert told
    assert all("not mouse-proof" in text for text in told)
