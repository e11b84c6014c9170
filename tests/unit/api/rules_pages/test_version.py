"""A page leaves nothing of a rule set out, not even what it has no column for."""

from __future__ import annotations

import msgspec
from gapwright.api.rules_pages.version import grids
from gapwright.rulesets.ruleset import RuleSet

from tests.unit.make import house_text, rules_of


def with_content(**more: object) -> RuleSet:
    """Return a rule set whose content has more in it than the pages know of."""
    rules = rules_of(house_text())
    content = {**rules.content, **more}
    resolved = msgspec.structs.replace(
        rules.resolved,
        content=content,
        documents=(msgspec.structs.replace(rules.resolved.documents[0], tree=content),),
    )
    return msgspec.structs.replace(rules, resolved=resolved)


def test_a_section_that_is_new_to_the_pages_is_shown_as_it_stands():
    rules = with_content(labor={"fixing": {"minutes": 12, "crew": 2}, "usual": "two people"})
    (grid,) = [one for one in grids(rules) if one.section == "labor"]
    assert grid.title == "Labor"
    said = {e.code: [(line.label, line.text) for line in e.cells["Also"]] for e in grid.entries}
    assert said == {
        "fixing": [("minutes", "12"), ("crew", "2")],
        "usual": [("", "two people")],
    }


def test_a_member_that_is_new_to_the_pages_has_a_column_with_the_others():
    rules = rules_of(house_text())
    bill = {name: dict(entry) for name, entry in rules.content["bill"].items()}
    bill["screw"]["weight"] = {"each": "3 g"}
    (grid,) = [one for one in grids(with_content(bill=bill)) if one.section == "bill"]
    assert grid.columns[-1] == "Also"
    said = {entry.code: entry.cells["Also"] for entry in grid.entries}
    assert [(line.label, line.text) for line in said["screw"]] == [("weight, each", "3 g")]
    assert said["washer"] == ()


def test_no_column_stands_empty_where_nothing_is_new():
    for grid in grids(rules_of(house_text())):
        assert "Also" not in grid.columns
        assert all(tuple(entry.cells) == grid.columns for entry in grid.entries)
