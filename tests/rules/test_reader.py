"""The reader takes plain YAML 1.2, and refuses the rest with place, problem and remedy."""

from __future__ import annotations

import random

import pytest
from gapwright.rulesets.reader import DEEPEST, MOST_BYTES, MOST_ENTRIES, RuleFileError, read
from hypothesis import example, given
from hypothesis import strategies as st

from tests.unit.make import house_text, problems_of, spoiled
from tests.unit.measures import PROMPT

HEAD = "id: house\nvalues:\n  overlap_length: {value: 6 in}\n"


def tree(text):
    return read(text.encode(), "house.yaml").tree


def refused(data):
    """Return why bytes or text are refused, after checking that each problem is whole."""
    raw = data if isinstance(data, bytes) else data.encode()
    with pytest.raises(RuleFileError) as caught:
        read(raw, "house.yaml")
    for problem in caught.value.problems:
        check_whole(problem, raw)
    return caught.value.problems


def check_whole(problem, raw):
    assert problem.file == "house.yaml"
    assert 1 <= problem.line <= raw.count(b"\n") + raw.count(b"\r") + 2
    assert problem.column >= 1
    assert problem.key
    assert problem.problem
    assert str(problem).startswith(f"house.yaml:{problem.line}:{problem.column}: {problem.key}: ")


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("no", "no"),
        ("yes", "yes"),
        ("on", "on"),
        ("Off", "Off"),
        ("y", "y"),
        ("1:30", "1:30"),
        ("12:30:45", "12:30:45"),
        ("1_000", "1_000"),
        ("2026-01-31", "2026-01-31"),
        ("1.0.0", "1.0.0"),
        ("4 1/2 in", "4 1/2 in"),
        ("20 %", "20 %"),
        ("=", "="),
        ("true", True),
        ("FALSE", False),
        ("TrUe", "TrUe"),
        ("null", None),
        ("~", None),
        ("", None),
        ("12", 12),
        ("+12", 12),
        ("-7", -7),
        ("0.5", 0.5),
        ("1e3", 1000.0),
        ("'12'", "12"),
        ('"true"', "true"),
        ("''", ""),
        ('"null"', "null"),
        ("'it''s'", "it's"),
        ('"\\u00bd in"', "½ in"),
        ("[4 in, 6 in]", ["4 in", "6 in"]),
        ("{from: 1 in}", {"from": "1 in"}),
        ("|\n  two\n  lines\n", "two\nlines\n"),
    ],
)
def test_scalars_mean_what_yaml_1_2_says_and_not_what_1_1_said(written, meant):
    found = tree(f"key: {written}")["key"]
    assert found == meant
    assert type(found) is type(meant)


def test_every_key_and_item_has_its_line_and_column():
    places = read(
        b"# head\nid: house\n\nvalues:\n  overlap_length: {value: [6 in,\n    8 in]}\n", "f"
    ).places
    assert places["id",] == (2, 1)
    assert places["values", "overlap_length"] == (5, 3)
    assert places["values", "overlap_length", "value"] == (5, 20)
    assert places["values", "overlap_length", "value", 0] == (5, 28)
    assert places["values", "overlap_length", "value", 1] == (6, 5)


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_the_line_ending_of_the_editor_does_not_matter(newline):
    document = read(HEAD.replace("\n", newline).encode(), "f")
    assert document.tree == tree(HEAD)
    assert document.places["values", "overlap_length"] == (3, 3)


def test_a_byte_order_mark_at_the_beginning_is_passed_over():
    assert read(b"\xef\xbb\xbf" + HEAD.encode(), "f").tree == tree(HEAD)


@pytest.mark.parametrize(
    ("text", "line", "column", "told"),
    [
        ("id: &a house\n", 1, 5, "anchor"),
        ("id: house\nvalues: &v {a: 1}\n", 2, 9, "anchor"),
        ("id: house\ntitle: *a\n", 2, 8, "alias"),
        ("id: house\n*a : x\n", 2, 1, "alias"),
        ("id: !!str house\n", 1, 5, "tag"),
        ("id: ! house\n", 1, 5, "tag"),
        ("id: !house {a: 1}\n", 1, 5, "tag"),
        ("id: house\nvalues: !!python/object:os.system {}\n", 2, 9, "tag"),
        ("id: house\n---\nid: other\n", 2, 1, "second document"),
        ("id: house\n...\n---\nid: other\n", 3, 1, "second document"),
        ("id: house\nvalues:\n\tlap: 6 in\n", 3, 1, "not YAML"),
        ("id: house\n  title: x\n", 2, 8, "not YAML"),
        ("id: house\ntitle: 'open\n", 3, 1, "not YAML"),
        ("id: house\nvalues: {overlap_length: 6 in\n", 3, 1, "not YAML"),
        ("id: house\nvalues: [a, b}\n", 2, 14, "not YAML"),
        ("id: house\ntitle: @x\n", 2, 8, "not YAML"),
        ('id: house\ntitle: "\\q"\n', 2, 9, "not YAML"),
        ("id: house\n: x\ntitle: t\n", 2, 1, "not YAML"),
        ("- id: house\n", 1, 1, "not a mapping"),
        ("house\n", 1, 1, "not a mapping"),
        ("--- 4\n", 1, 5, "not a mapping"),
        ("[[[[\n", 1, 1, "not a mapping"),
    ],
)
def test_what_a_rule_file_may_not_hold_is_told_at_its_place(text, line, column, told):
    (problem,) = refused(text)
    assert told in problem.problem
    assert (problem.line, problem.column) == (line, column)
    assert problem.remedy


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# only a comment\n", "---\n", "{}\n", "\ufeff", "...\n"]
)
def test_an_empty_file_is_refused(text):
    assert len(refused(text)) == 1


@pytest.mark.parametrize(
    ("text", "key", "line"),
    [
        ("id: a\nid: b\n", "id", 2),
        ("id: a\n'id': b\n", "id", 2),
        (
            "values:\n  overlap_length: 1\n  web: 2\n  overlap_length: 1\n",
            "values.overlap_length",
            4,
        ),
        ("values: {overlap_length: {value: 1, value: 1}}\n", "values.overlap_length.value", 1),
        ("rows:\n  - a: 1\n    a: 2\n", "rows.0.a", 3),
    ],
)
def test_a_key_that_stands_twice_is_told_with_both_lines(text, key, line):
    document = read(text.encode(), "house.yaml")
    (fault,) = document.faults
    problem = document.problem(fault)
    assert problem.line == line
    assert problem.key.startswith(key)
    assert "Duplicate key" in problem.problem


@pytest.mark.parametrize(
    "key", ["1", "1.5", "true", "null", "~", "-3", "[a]", "{a: b}", "? [a, b]\n"]
)
def test_a_key_that_is_no_text_is_told(key):
    document = read(f"id: house\n{key}: x\ntitle: t\n".encode(), "house.yaml")
    (fault,) = document.faults
    assert document.problem(fault).line == 2
    assert set(document.tree) == {"id", "title"}


def test_a_merge_key_merges_nothing():
    assert tree("id: house\n<<: {title: t}\n") == {"id": "house", "<<": {"title": "t"}}


def test_keys_that_yaml_1_1_took_for_booleans_are_names():
    assert tree("no: 1\nyes: 2\non: 3\n") == {"no": 1, "yes": 2, "on": 3}


def nested(depth, shape):
    opening, closing = {"map": ("{a: ", "}"), "list": ("[", "]")}[shape]
    return "top: " + opening * (depth - 1) + "x" + closing * (depth - 1)


@pytest.mark.parametrize("shape", ["map", "list"])
def test_twenty_levels_are_read_and_one_more_is_not(shape):
    assert tree(nested(DEEPEST, shape))
    assert "nested" in refused(nested(DEEPEST + 1, shape))[0].problem


@pytest.mark.parametrize(
    "bomb",
    ["{a: " * 100_000, "top: " + "[" * 100_000, "? " * 100_000, "top:\n" + "- " * 100_000],
)
def test_a_file_nested_a_hundred_thousand_deep_is_refused_where_it_gets_too_deep(bomb):
    (problem,) = refused(bomb)
    assert "nested" in problem.problem
    assert problem.line <= 2


def test_aliases_that_would_fill_the_memory_are_refused_before_anything_is_built():
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{after}: &{after} [{', '.join([f'*{before}'] * 9)}]\n"
        for before, after in zip("abcdefgh", "bcdefghi", strict=True)
    )
    assert "anchor" in refused(bomb)[0].problem


def test_a_file_over_the_size_limit_is_refused_unread():
    assert "bytes" in refused(b"#" * (MOST_BYTES + 1))[0].problem


@pytest.mark.parametrize(
    ("raw", "line"),
    [
        (b"id: \xff\n", 1),
        (b"id: house\ntitle: caf\xe9\n", 2),
        (b"id: house\n# \xc3\n", 2),
        (b"id: house\n\n\ntitle: \xed\xa0\x80\n", 4),
        (b"id: \xc0\xaf\n", 1),
        ("id: house\n".encode("utf-16"), 1),
    ],
)
def test_bytes_that_are_no_utf_8_are_told_with_their_line(raw, line):
    (problem,) = refused(raw)
    assert "UTF-8" in problem.problem
    assert problem.line == line


@pytest.mark.parametrize("control", ["\x00", "\x07", "\x0b", "\x1b", "\x7f", "\x9f", "\ufffe"])
def test_a_control_character_is_told_with_its_line(control):
    (problem,) = refused(f"id: house\ntitle: t\nchange: a{control}b\n")
    assert problem.line == 3


@pytest.mark.parametrize("escape", ["\\uD800", "\\uDFFF", "\\U00110000", "\\UFFFFFFFF"])
def test_an_escape_that_is_no_character_is_told(escape):
    text, line = spoiled("", "\nchange:", f'\nchange: "a{escape}b" #')
    assert [problem.line for problem in problems_of(text)] == [line]


def test_the_file_is_named_as_it_was_called():
    with pytest.raises(RuleFileError, match=r"^acme/1\.0\.0\.yaml:1:1: "):
        read(b"", "acme/1.0.0.yaml")


@PROMPT
@given(st.binary(max_size=120) | st.text(max_size=120).map(str.encode))
@example(b"%FOO bar\n---\nid: house\n")
@example(b"%YAML 9.9\n---\nid: house\n")
@example(b"%TAG ! x\n---\nid: house\n")
@example(b'"\\xZZ": 1')
@example(b"? |\n  a\n  b\n: c\n")
@example(b"a: !<tag:yaml.org,2002:str> b")
@example(b"a: '\xf0\x9f\x98\x80'")
def test_any_bytes_are_read_or_refused_with_a_place(raw):
    read_or_refuse(raw)


TOKENS = [*"abc:-?,[]{}#&*!|>'\"%@`\\ \t\n0123.~", "\n  ", ": ", "- ", "---\n", "\ufeff", "½"]


@PROMPT
@given(st.lists(st.sampled_from(TOKENS), max_size=60).map("".join))
def test_any_text_of_yaml_signs_is_read_or_refused_with_a_place(text):
    read_or_refuse(text.encode())


def read_or_refuse(raw):
    try:
        document = read(raw, "house.yaml")
        problems = [document.problem(fault) for fault in document.faults]
    except RuleFileError as error:
        problems = error.problems
        assert problems
    for problem in problems:
        check_whole(problem, raw)


@pytest.mark.parametrize("seed", range(25))
def test_a_damaged_rule_file_is_never_more_than_a_refusal_with_places(seed):
    raw = damaged(house_text().encode(), random.Random(seed))
    for problem in problems_of(raw):
        check_whole(problem, raw)


def damaged(raw, chance):
    """Return a rule file after a few accidents: bytes lost, doubled, moved or scribbled on."""
    data = bytearray(raw)
    for _ in range(chance.randint(1, 4)):
        start = chance.randrange(len(data))
        end = min(len(data), start + chance.choice((1, 1, 3, 10, 40, 400)))
        piece = bytes(data[start:end])
        accident = chance.choice(("lose", "double", "move", "scribble", "sign"))
        if accident == "scribble":
            data[start:end] = chance.randbytes(end - start)
        elif accident == "sign":
            data[start:start] = chance.choice(TOKENS).encode()
        elif accident == "double":
            data[end:end] = piece
        else:
            del data[start:end]
        if accident == "move":
            to = chance.randrange(len(data))
            data[to:to] = piece
    return bytes(data)


@pytest.mark.parametrize("written", ["[" + "1," * 10 + "]", "{" + "a: 1, b: 2" + "}"])
def test_a_file_of_more_names_and_values_than_anyone_reads_is_refused_where_they_are_too_many(
    written,
):
    lines = "".join(f"k{n}: {written}\n" for n in range(MOST_ENTRIES // 4))
    (problem,) = refused(lines)
    assert str(MOST_ENTRIES) in problem.problem
    assert problem.line < MOST_ENTRIES // 4


def test_as_many_names_and_values_as_are_allowed_are_read():
    text = "k: [" + "1," * (MOST_ENTRIES - 3) + "]\n"
    assert len(tree(text)["k"]) == MOST_ENTRIES - 3
    (problem,) = refused(text.replace("1,]", "1,1,]"))
    assert problem.line == 1


def test_a_tab_before_a_key_is_called_a_tab():
    [problem] = refused("id: house\nvalues:\n\tlap: 6 in\n")
    assert (problem.line, problem.column) == (3, 1)
    assert "a tab is used" in problem.problem
    assert "spaces" in problem.remedy
