"""Where an entry comes from: who wrote it last, and what it stood in place of."""

from __future__ import annotations

from gapwright.api.rules_pages.version import Provenance, provenance, removed
from gapwright.rulesets.build.build import RULE_SETS, build
from gapwright.rulesets.reader import read
from gapwright.rulesets.resolve import resolve
from gapwright.rulesets.ruleset import RuleSet

from tests.unit.make import house_text

HEAD = """\
id: {0}
version: 1.0.0
effective: 2026-01-01
status: published
title: Invented
change: First.
approved_by: Nobody
based_on: {1}
"""
MIDDLE = (
    HEAD.format("middle", "baseline@1.0.0")
    + """
values:
  overlap_length: {value: 8 in}
  waste_factor: {value: 25 %, description: For waste.}
  piece_length: {value: 10 ft}
remove:
  tools: [bending_brake, gloves]
"""
)
TOP = (
    HEAD.format("top", "middle@1.0.0")
    + """
values:
  overlap_length: {value: 10 in}
tools:
  bending_brake: {description: Another brake, need: helpful, source: common-practice}
"""
)


def chain() -> RuleSet:
    """Return a rule set of three files: a root, a company, and a branch of it."""
    texts = {"baseline@1.0.0": house_text(), "middle@1.0.0": MIDDLE}
    documents = {name: read(text.encode(), f"{name}.yaml") for name, text in texts.items()}
    return build(resolve(read(TOP.encode(), "top@1.0.0.yaml"), documents.__getitem__, RULE_SETS))


def of(section: str, name: str) -> Provenance:
    return provenance((section, name), chain())


def told(found: Provenance) -> list[tuple[str, list[str]]]:
    return [
        (origin.ruleset, [f"{x.label}: {x.text}" for x in lines]) for origin, lines in found.was
    ]


def test_a_value_that_each_file_moved_tells_every_step_the_latest_first():
    found = of("values", "overlap_length")
    assert (found.mark, found.origin.ruleset) == ("changed here", "top@1.0.0")
    assert told(found) == [
        ("middle@1.0.0", ["Value: 8 in"]),
        ("baseline@1.0.0", ["Value: 6 in"]),
    ]


def test_only_what_a_file_says_otherwise_counts_as_overridden():
    found = of("values", "waste_factor")
    assert (found.mark, found.origin.ruleset) == ("changed by middle@1.0.0", "middle@1.0.0")
    ((ruleset, lines),) = told(found)
    assert ruleset == "baseline@1.0.0"
    assert lines[0] == "Value: 20 %"
    assert [line.split(":")[0] for line in lines] == ["Value", "Meaning"]


def test_a_file_that_says_the_same_again_restates_it():
    found = of("values", "piece_length")
    assert (found.mark, found.was) == ("restated by middle@1.0.0", ())


def test_what_nobody_touched_is_the_roots_and_bears_no_mark():
    found = of("values", "rings_per_overlap")
    assert (found.mark, found.origin.ruleset, found.was) == ("", "baseline@1.0.0", ())


def test_what_was_dropped_and_written_anew_is_added():
    found = of("tools", "bending_brake")
    assert (found.mark, found.was, found.origin.ruleset) == ("added here", (), "top@1.0.0")


def test_what_is_dropped_for_good_is_told_with_the_line_that_says_so():
    (found,) = removed(chain())
    assert (found.section, found.code) == ("tools", "gloves")
    assert "Cut-resistant gloves" in [line.text for line in found.lines]
    assert found.origin.ruleset == "middle@1.0.0"
    assert "gloves" in MIDDLE.splitlines()[found.origin.line - 1]
