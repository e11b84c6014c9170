"""An overlay says what it changes, and no more; a chain of them can be folded from either end."""

from __future__ import annotations

from gapwright.rulesets.overlay import lay
from gapwright.rulesets.overlay import rule_change_faults as overlay_faults
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY

NAMES = st.sampled_from("abcd")
TABLES = st.sampled_from(("first", "second"))
DIGIT = st.sampled_from("0123")
MEMBERS = st.dictionaries(st.sampled_from(("value", "description")), DIGIT)
WHOLE = DIGIT.map(lambda digit: {"text": digit})


def contents():
    """Return a strategy for the parts of a rule set that overlays change."""
    return st.fixed_dictionaries(
        {"id": st.sampled_from(("one", "two")), "change": DIGIT},
        optional={
            "units": st.sampled_from(("imperial", "metric")),
            "values": st.dictionaries(NAMES, MEMBERS),
            "bill": st.dictionaries(NAMES, WHOLE),
            "assumptions": st.dictionaries(NAMES, MEMBERS),
            "work": st.dictionaries(NAMES, WHOLE),
            "tables": st.dictionaries(
                TABLES,
                st.fixed_dictionaries(
                    {"rows": st.dictionaries(NAMES, WHOLE)}, optional={"description": DIGIT}
                ),
            ),
        },
    )


REMOVALS = st.fixed_dictionaries(
    {},
    optional={
        "bill": st.lists(NAMES, max_size=3),
        "work": st.lists(NAMES, max_size=3),
        "tables": st.dictionaries(TABLES, st.lists(NAMES, max_size=3)),
    },
)


@st.composite
def changes(draw):
    """Draw any change, also one that a file would be refused for."""
    return {**draw(contents()), "remove": draw(REMOVALS)}


def sound(base, change):
    """Return a change without the removals that a written overlay may not have."""
    kept = {}
    for section in ("bill", "work"):
        known = base.get(section, {}).keys() - change.get(section, {}).keys()
        kept[section] = [name for name in change["remove"].get(section, ()) if name in known]
    kept["tables"] = {}
    for table, names in change["remove"].get("tables", {}).items():
        rows = base.get("tables", {}).get(table, {}).get("rows", {})
        again = change.get("tables", {}).get(table, {}).get("rows", {})
        if table in base.get("tables", {}):
            found = [name for name in names if name in rows and name not in again]
            kept["tables"][table] = found
    written = {**change, "remove": kept}
    assert not overlay_faults({"tables": {}, **base}, written)
    return written


def sound_chain(base, drawn):
    """Return the drawn changes as sound overlays, each on what the ones before it made."""
    written = []
    for change in drawn:
        written.append(sound(base, change))
        base = lay(base, written[-1])
    return written


def ordered(part):
    """Return plain data in which the order of entries counts too."""
    if isinstance(part, dict):
        return [(name, ordered(entry)) for name, entry in part.items()]
    return part


def entries(content):
    """Return the ordered entries of each section, and rows of each table."""
    sections = ("values", "bill", "assumptions", "work")
    found = {section: ordered(content.get(section)) for section in sections}
    return found, {name: ordered(table["rows"]) for name, table in content["tables"].items()}


@STEADY
@given(contents(), changes())
def test_a_written_overlay_laid_twice_is_the_same_as_once(base, change):
    written = sound(base, change)
    once = lay(base, written)
    assert ordered(lay(once, written)) == ordered(once)


@STEADY
@given(contents(), changes())
def test_laying_a_change_alters_neither_the_base_nor_the_change(base, change):
    before = (repr(base), repr(change))
    lay(base, change)
    assert (repr(base), repr(change)) == before


@STEADY
@given(contents(), contents())
def test_an_overlay_that_changes_nothing_leaves_all_but_the_head(base, head):
    bare = {name: part for name, part in head.items() if name in ("id", "change")}
    laid = lay(base, bare)
    assert {name: laid.get(name) for name in bare} == bare
    for section in ("values", "bill"):
        assert ordered(laid[section]) == ordered(base.get(section, {}))
    assert laid["tables"] == base.get("tables", {})
    assert laid.get("units") == base.get("units")


BASE = {
    "id": "base",
    "title": "The base",
    "change": "First.",
    "units": "imperial",
    "values": {"overlap_length": {"value": "6 in", "description": "overlap", "source": "practice"}},
    "bill": {"mesh": {"description": "mesh"}, "screw": {"description": "screw", "minimum": 2}},
    "tables": {
        "t": {"description": "m", "hit_policy": "UNIQUE", "rows": {"a": {"then": 1}, "b": {}}}
    },
}


def test_what_is_replaced_keeps_its_place_and_what_is_new_comes_last():
    laid = lay(BASE, {"bill": {"washer": {}, "mesh": {"description": "finer mesh"}}})
    assert list(laid["bill"]) == ["mesh", "screw", "washer"]
    assert laid["bill"]["mesh"] == {"description": "finer mesh"}


def test_a_value_keeps_what_its_change_leaves_out():
    laid = lay(BASE, {"values": {"overlap_length": {"value": "8 in"}}})
    assert laid["values"]["overlap_length"] == {
        "value": "8 in",
        "description": "overlap",
        "source": "practice",
    }


def test_any_other_entry_is_replaced_whole():
    laid = lay(BASE, {"bill": {"screw": {"description": "longer screw"}}})
    assert laid["bill"]["screw"] == {"description": "longer screw"}
    laid = lay(BASE, {"tables": {"t": {"rows": {"a": {"when": {}}}}}})
    assert laid["tables"]["t"]["rows"]["a"] == {"when": {}}


def test_rows_are_added_replaced_and_removed_and_the_rest_of_their_table_stays():
    change = {
        "tables": {"t": {"rows": {"c": {}, "b": {"then": 2}}}},
        "remove": {"tables": {"t": ["a"]}},
    }
    laid = lay(BASE, change)["tables"]["t"]
    assert ordered(laid["rows"]) == [("b", [("then", 2)]), ("c", [])]
    assert (laid["description"], laid["hit_policy"]) == ("m", "UNIQUE")


def test_the_head_is_never_inherited_but_the_units_are():
    laid = lay(BASE, {"id": "own", "change": "Second."})
    assert (laid["id"], laid["change"], laid["units"]) == ("own", "Second.", "imperial")
    assert "title" not in laid
    assert lay(BASE, {"units": "metric"})["units"] == "metric"


def test_what_was_removed_below_can_be_added_again_above():
    lower, upper = {"remove": {"bill": ["mesh"]}}, {"bill": {"mesh": {"description": "other"}}}
    laid = lay(lay(BASE, lower), upper)
    assert ordered(laid["bill"]) == [
        ("screw", ordered(BASE["bill"]["screw"])),
        ("mesh", [("description", "other")]),
    ]
