"""Two versions side by side: every entry that differs, with its class."""

from __future__ import annotations

import pytest
from gapwright.api.rules_pages.words import in_words
from gapwright.publishing.changes import changes

from tests.contract.ask import Service, problem_of
from tests.contract.markup import parsed
from tests.contract.rules_pages import (
    BROWSER,
    NAMES,
    NEW,
    OLD,
    SHELF,
    cells,
    differences_address,
    read,
    rules_of,
)


@pytest.mark.parametrize(("before", "after"), [(OLD, name) for name in NAMES[1:]] + [(NEW, OLD)])
def test_each_difference_stands_with_its_class_before_and_after(
    service: Service, before: str, after: str
):
    page = read(service, differences_address(before, after))
    found = changes(rules_of(before), rules_of(after))
    assert found
    for change in found:
        shown = page.by_id(change.entry)
        assert f"{change.classification.capitalize()}:" in shown.text
        assert shown.parent.attributes["id"] == change.affects
        done = (
            "added" if change.before is None else "removed" if change.after is None else "changed"
        )
        assert shown.one("h3").text.endswith(f", {done}")
        rows = [cells(row) for row in shown.one("tbody").all("tr")]
        assert rows
        sides = (f"Before: {before}", f"After: {after}")
        assert all(row[sides[0]] != row[sides[1]] for row in rows)
        for side, entry in zip(sides, (change.before, change.after), strict=True):
            if entry is None:
                assert {row[side] for row in rows} == {"(nothing)"}
            elif (
                change.entry.startswith("values.")
                and None not in (change.before, change.after)
                and change.before["value"] != change.after["value"]
            ):
                (value,) = [row[side] for row in rows if row["Part"] == "Value"]
                assert value == (
                    ", ".join(entry["value"])
                    if isinstance(entry["value"], list)
                    else str(entry["value"])
                )
    for classification in {change.classification for change in found}:
        count = sum(change.classification == classification for change in found)
        assert (
            f"{count} {'in wording only' if classification == 'wording' else classification}"
            in page.text
        )


def test_what_is_looser_is_named_first(service: Service):
    loose = [
        change
        for change in changes(rules_of(NEW), rules_of(OLD))
        if change.classification == "looser"
    ]
    assert loose
    text = read(service, differences_address(NEW, OLD)).text
    first = text.index("Look first at what is looser")
    assert all(
        in_words(c.entry.split(".")[-1]).capitalize() in text[first : first + 300] for c in loose
    )
    assert "Nothing is looser." in read(service, differences_address(OLD, NEW)).text


def test_a_version_does_not_differ_from_itself(service: Service):
    assert (
        f"{OLD} and {OLD} have the same rules." in read(service, differences_address(OLD, OLD)).text
    )


def test_a_comparison_that_cannot_be_made_keeps_what_was_typed(service: Service):
    path = differences_address(OLD, 'no"<b>body@9.9.9')
    answer = service.ask("GET", path, headers=BROWSER)
    assert answer.status_code == 422
    page = parsed(answer.text)
    assert page.by_id("to_id").attributes["value"] == 'no"<b>body'
    assert page.by_id("to").attributes["value"] == "9.9.9"
    assert page.by_id("to_id").attributes["aria-invalid"] == "true"
    assert "Unknown rule set" in page.by_id("to_id-faults").text
    refused = problem_of(service.ask("GET", path), 422, "")
    assert [error["pointer"] for error in refused["errors"]] == ["/to_id"]


def test_a_version_that_is_not_there_is_told_beside_those_that_are(service: Service):
    identifier = OLD.split("@")[0]
    path = differences_address(OLD, f"{identifier}@9.9.9")
    told = parsed(service.ask("GET", path, headers=BROWSER).text).by_id("to-faults").text
    assert all(version in told for version in SHELF.ledger[identifier])
