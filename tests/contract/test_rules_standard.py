"""A version is read whole, with where each entry comes from and what it stands in place of."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from gapwright.api.rules_pages.words import in_words
from gapwright.calls.registry import CALLS

from tests.contract.ask import Service
from tests.contract.rules_pages import (
    NAMES,
    OVERLAYS,
    RULES,
    SHELF,
    address,
    cells,
    job_of,
    read,
    rules_of,
)


@pytest.mark.parametrize("name", NAMES)
def test_a_version_is_told_whole(service: Service, name: str):
    """Each text that a rule set holds stands on its page, so that nothing is left unread."""
    text = in_words(read(service, address(name)).one("main").text).lower()
    for leaf in leaves(dict(rules_of(name).content)):
        assert in_words(re.sub(r"\s+", " ", leaf)).lower() in text, leaf


def leaves(part: Any) -> Iterator[str]:
    """Yield every text and number of plain data, less what is told in other words."""
    if isinstance(part, dict):
        for key, inner in part.items():
            if key not in ("driver", "unit", "based_on", "each") and inner != {"pack_size": 1}:
                yield from leaves(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from leaves(inner)
    elif part is not None and not isinstance(part, bool):
        yield str(part)


@pytest.mark.parametrize("name", NAMES)
def test_a_value_stands_with_its_source_its_range_and_the_line_it_was_written_in(
    service: Service, name: str
):
    page, rules = read(service, address(name)), rules_of(name)
    for value, entry in rules.content["values"].items():
        row = page.by_id(f"values.{value}")
        written = entry["value"] if isinstance(entry["value"], list) else [entry["value"]]
        shown = cells(row)["Value"]
        assert shown == ", ".join(str(w) if w is not False else "no" for w in written)
        assert entry["description"] in cells(row)["Meaning"]
        assert rules.content["sources"][entry["source"]]["title"] in row.text
        if "allowed" in entry:
            span = f"from {entry['allowed']['min']} to {entry['allowed']['max']}"
            assert span in cells(row)["Allowed range"]
        place = next(n.text for n in row.all("code") if n.attributes.get("class") == "file")
        file, _, line = place.partition(":")
        assert (RULES / file).read_text().splitlines()[int(line) - 1].strip() == f"{value}:"


@pytest.mark.parametrize("name", OVERLAYS)
def test_what_an_overlay_changed_is_marked_with_what_it_stands_in_place_of(
    service: Service, name: str
):
    page, rules = read(service, address(name)), rules_of(name)
    base, own = rules.resolved.documents[-2].tree, rules.resolved.documents[-1].tree
    below = rules_of(own["based_on"]).content
    for section in ("values", "bill", "tools", "cautions", "zones", "examples", "sources"):
        for entry in rules.content[section]:
            text = page.by_id(f"{section}.{entry}").text
            here = entry in own.get(section, {})
            assert ("changed here" in text) == (here and entry in below[section]), entry
            assert ("added here" in text) == (here and entry not in below[section]), entry
            assert ("Replaces" in text) or "changed" not in text
    for value, entry in own.get("values", {}).items():
        old = below["values"][value]["value"]
        shown = ", ".join(old) if isinstance(old, list) else old
        text = page.by_id(f"values.{value}").text
        assert f"Value: {shown}" in text
        assert ("Meaning:" in text) == ("description" in entry)
    assert f"is based on {base['id']}@{base['version']}" in page.text
    if own.get("units", below["units"]) != below["units"]:
        assert f"(changed here; {below['units']} in " in page.by_id("head").text


def test_what_a_version_in_the_middle_of_a_chain_did_is_told_by_its_name(service: Service):
    found = 0
    for name in OVERLAYS:
        documents = rules_of(name).resolved.documents
        for at, document in enumerate(documents[1:-1], 1):
            by = f"{document.tree['id']}@{document.tree['version']}"
            for section in ("values", "bill", "cautions", "zones"):
                later = (set(one.tree.get(section, {})) for one in documents[at + 1 :])
                for entry in set(document.tree.get(section, {})).difference(*later):
                    text = read(service, address(name)).by_id(f"{section}.{entry}").text
                    assert re.search(rf"(added|changed) by {re.escape(by)}", text), entry
                    found += 1
    assert found


def test_what_an_overlay_dropped_is_still_told(service: Service):
    found = 0
    for name in OVERLAYS:
        remove = SHELF.document(name).tree.get("remove", {})
        for section, entries in remove.items():
            for entry in entries:
                row = next(
                    row
                    for row in read(service, address(name)).by_id("dropped").all("tr")
                    if entry in row.text
                )
                assert section in row.text
                assert name in row.text
                found += 1
    assert found


@pytest.mark.parametrize("name", NAMES)
def test_a_decision_table_has_a_column_for_each_input_and_a_dash_for_any(
    service: Service, name: str
):
    for table, entry in rules_of(name).content["tables"].items():
        for row, written in entry["rows"].items():
            shown = cells(read(service, address(name)).by_id(f"tables.{table}.rows.{row}"))
            inputs = {
                in_words(one) for each in entry["rows"].values() for one in each.get("when", {})
            }
            asked = {in_words(one): raw for one, raw in written.get("when", {}).items()}
            assert inputs <= set(shown)
            for one in inputs:
                assert (shown[one] == "-") == (one not in asked)
                if asked.get(one) in (True, False):
                    assert shown[one] == ("yes" if asked[one] else "no")
                if isinstance(asked.get(one), list):
                    assert all(in_words(option) in shown[one] for option in asked[one])
            for text in written["then"].values():
                assert in_words(text) in " ".join(shown.values())


@pytest.mark.parametrize("name", NAMES)
def test_a_caution_bears_its_signal_word_and_its_lock(service: Service, name: str):
    for caution, entry in rules_of(name).content["cautions"].items():
        text = read(service, address(name)).by_id(f"cautions.{caution}").text
        assert text.startswith(f"{entry['severity'].upper()} {entry['text']}")
        assert ("Lock: locked" in text) == bool(entry.get("locked"))
        assert ("Given: always" in text) == ("when" not in entry)


@pytest.mark.parametrize("name", NAMES)
def test_an_explanation_cites_what_the_page_has_an_anchor_for(service: Service, name: str):
    page = read(service, address(name))
    ids = {node.attributes["id"] for node in page.all() if "id" in node.attributes}
    for call in CALLS:
        job = {**job_of(call.path.removeprefix("/v1/")), "ruleset": name, "explain": True}
        answer = service.post(call.path, job).json()
        cited = set(answer["explanation"]["rules"])
        assert cited
        for rule in cited:  # the entry that it is part of
            steps = rule.split(".")
            assert any(".".join(steps[:end]) in ids for end in (2, 4) if end <= len(steps)), rule


def test_what_a_rule_set_says_for_quotes_stands_under_its_entry(service: Service):
    page = read(service, address("baseline@1.2.0"))
    told = {
        "assumptions.crew": "from 2 to 3",
        "work.set_up": "60 min for each job",
        "work.fit": "4 min for each tab",
        "work.paint": "finish is spray",
        "work.corners": "same as by rule of thumb",
        "labor_factors.brittle_covering": (
            "roof covering is slate, clay tile, concrete tile, wood shake"
        ),
        "mesh.density": "490 lb/ft³",
    }
    for anchor, text in told.items():
        assert text in page.by_id(anchor).text


def test_what_an_overlay_says_for_quotes_is_marked_with_what_it_stands_in_place_of(
    service: Service,
):
    page = read(service, address("seacliff@1.1.0"))
    clearance = page.by_id("assumptions.clearance_rail_mounted").text
    assert "changed here" in clearance
    assert "115 mm" in clearance
    assert "4 1/2 in" in clearance
    assert "added here" in page.by_id("work.rinse").text
    assert "Clearance of modules on rails" in clearance


def test_the_api_tells_where_each_entry_for_quotes_was_written(service: Service):
    answer = service.ask("GET", "/v1/rulesets/seacliff/1.1.0").json()
    origins = answer["origins"]
    wire = [origin["ruleset"] for origin in origins["mesh.wire"]]
    assert wire == ["baseline@1.2.0", "seacliff@1.1.0"]
    assert answer["content"]["mesh"]["wire"]["value"] == "1.6 mm"
    assert {"work.fit", "labor_factors.steep_pitch", "assumptions.crew"} <= set(origins)
