"""The digest of a rule set: the same for the same rules, another one for any other."""

from __future__ import annotations

import copy
import hashlib
import json
import random
import re

import pytest
from gapwright.rulesets.build.build import digest
from gapwright.rulesets.reader import read
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from tests.unit.make import baseline, baseline_text, edited, house_text, rules_of
from tests.unit.measures import STEADY

TREE = read(baseline_text().encode(), "f").tree
ORDERED = {"bill", "tools", "cautions", "tables", "rows"}
"""Mappings in which the order of the entries is the order of an answer, or decides."""


def shuffled(node, chance, name=""):
    """Return plain data with the keys of every mapping whose order means nothing in another one."""
    if isinstance(node, list):
        return [shuffled(part, chance) for part in node]
    if not isinstance(node, dict):
        return node
    names = list(node)
    if name not in ORDERED:
        chance.shuffle(names)
    return {key: shuffled(node[key], chance, key) for key in names}


def leaves(node, path=()):
    if isinstance(node, dict):
        for name, part in node.items():
            yield from leaves(part, (*path, name))
    elif isinstance(node, list):
        for at, part in enumerate(node):
            yield from leaves(part, (*path, at))
    else:
        yield path


LEAVES = [path for path in leaves(TREE) if path != ("status",)]


def other(value):
    """Return another value of the same type."""
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) else f"{value} "


def test_the_digest_is_that_of_the_content_read_by_another_reader_and_written_by_another_writer():
    """For this content sorted, closed-up JSON is RFC 8785: names are ASCII, there are no floats."""
    content = YAML(typ="safe", pure=True).load(baseline_text())
    content["effective"] = content["effective"].isoformat()
    del content["status"]
    rows = {name: list(table["rows"]) for name, table in content["tables"].items()}
    content["order"] = {"bill": list(content["bill"]), "tables": rows}
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert baseline().digest == f"sha256:{hashlib.sha256(canonical.encode()).hexdigest()}"


@pytest.mark.parametrize("seed", range(3))
def test_neither_the_order_of_keys_nor_the_layout_of_the_file_changes_the_digest(seed):
    chance = random.Random(seed)
    tree = shuffled(read(house_text().encode(), "f").tree, chance)
    rewritten = json.dumps(tree, indent=seed or None, ensure_ascii=bool(seed))
    assert rewritten != house_text()
    assert rules_of(rewritten).digest == rules_of(house_text()).digest


def test_comments_blank_lines_and_line_endings_do_not_change_the_digest():
    lines = [f"# note\n\n{line}  # note\r" for line in house_text().splitlines()]
    assert rules_of("\n".join(["\ufeff", *lines])).digest == rules_of(house_text()).digest


def test_quotes_round_a_text_do_not_change_the_digest_and_quotes_round_a_number_do():
    quoted = edited(
        ("\ntitle: Baseline", '\ntitle: "Baseline'), (" array\nchange", ' array"\nchange')
    )
    assert rules_of(quoted).digest == rules_of(house_text()).digest
    assert digest({"rings_per_overlap": 4}) != digest({"rings_per_overlap": "4"})


@STEADY
@given(st.sampled_from(LEAVES))
def test_any_value_that_is_changed_changes_the_digest(path):
    changed = copy.deepcopy(TREE)
    holder = changed
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = other(holder[path[-1]])
    assert digest(changed) != baseline().digest


@STEADY
@given(st.sampled_from(LEAVES))
def test_any_value_that_is_dropped_changes_the_digest(path):
    changed = copy.deepcopy(TREE)
    holder = changed
    for step in path[:-1]:
        holder = holder[step]
    del holder[path[-1]]
    assert digest(changed) != baseline().digest


def test_an_empty_list_and_a_missing_one_are_two_things():
    assert digest({"also": []}) != digest({})


def test_the_digest_is_written_with_its_kind():
    assert re.fullmatch(r"sha256:[0-9a-f]{64}", baseline().digest)
