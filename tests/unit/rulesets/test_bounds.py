"""Every value of a rule file has a least and a most, so that no file can make a job run away."""

from __future__ import annotations

import contextlib

import pytest
from gapwright.calls.registry import BY_NAME
from gapwright.errors import GapwrightError
from gapwright.quantity.parse import QuantityError, length_nm
from gapwright.rulesets.values import VALUES
from gapwright.rulesets.vocabulary import ASSUMED, MESH
from gapwright.strict import convert

from tests.unit.make import added, edited, problems_of, rules_of, spoiled

BOUNDED = {name: value for name, value in VALUES.items() if value.kind != "flag"}
JOB = {
    "clearance": {"readings": ["4 1/2 in"]},
    "array": {"blocks": [{"rows": 2, "columns": 3, "long_side": "66 in", "short_side": "40 in"}]},
}


def beyond(value):
    """Return texts just below the least and just above the most of a value."""
    if value.kind == "count":
        return [-1 if value.least == 0 else value.least - 1, value.most + 1]
    unit = {"share": "%", "angle": "deg"}.get(value.kind)
    if unit:
        low, high = (float(end.split()[0]) for end in (value.least, value.most))
        return [f"{low - 0.01:.2f} {unit}", f"{high + 0.01:.2f} {unit}"]
    low, high = (length_nm(end) for end in (value.least, value.most))
    texts = [f"{nm / 1_000_000:.6f} mm" for nm in (low - 1, high + 1)]
    return [[text] for text in texts] if value.kind == "lengths" else texts


@pytest.mark.parametrize("name", BOUNDED)
def test_what_lies_just_beyond_a_bound_is_refused_and_the_bound_itself_is_not(name):
    value = BOUNDED[name]
    for raw in beyond(value):
        with pytest.raises(QuantityError, match=r"out of range|negative|Expected a whole number"):
            value.read(raw)
    for end in (value.least, value.most):
        value.read([end] if value.kind == "lengths" else end)


@pytest.mark.parametrize("measure", [*ASSUMED.values(), *MESH.values()])
def test_what_quotes_take_has_bounds_too(measure):
    assert measure.least is not None
    assert measure.most is not None


@pytest.mark.parametrize(
    ("place", "old", "new", "words"),
    [
        ("values.rails_per_row", "value: 2", "value: 1000000000", "from 0 to 8"),
        ("values.cut_increment", "value: 1 in", "value: 0 in", "from 1/64 in to 12 in"),
        ("values.stock_widths", "[4 in", "[1/64 in, 4 in", "from 1 in to 10 ft"),
        ("bill.screw", "one_per: 6 ft", "one_per: 1/64 in", "from 1/16 in to 20000 ft"),
        ("bill.screw", "pack_size: 100", "pack_size: 100000000", "from 1 to 1000000"),
    ],
)
def test_a_file_beyond_a_bound_is_refused_at_its_line_with_the_range(place, old, new, words):
    text, line = spoiled(place, old, new)
    (problem,) = problems_of(text)
    assert problem.line == line
    assert "out of range" in problem.problem
    assert words in problem.problem


def test_lines_that_drive_each_other_cannot_multiply_without_end():
    lines = "".join(
        f"  line_{at}:\n    description: d\n    source: from-memory\n"
        f"    estimate: {{a: {{driver: {f'line_{at - 1}' if at else 'corners'}, each: 1000}}}}\n"
        for at in range(9)
    )
    problems = problems_of(added("bill", lines))
    assert problems[0].key == "bill.line_1"
    assert all("would be too large" in problem.problem for problem in problems)
    assert problems_of(added("bill", lines[: lines.index("  line_1:")])) == ()


@pytest.mark.parametrize("name", sorted(BOUNDED))
def test_at_its_bounds_every_value_gives_an_answer_or_a_plain_refusal(name):
    value = BOUNDED[name]
    for end in (value.least, value.most):
        text = with_value(name, [end] if value.kind == "lengths" else end)
        if problems_of(text):
            continue  # it does not fit another value
        rules = rules_of(text)
        for call in ("sizing", "layout"):
            given = JOB if call == "layout" else {"clearance": JOB["clearance"]}
            with contextlib.suppress(GapwrightError):
                assert BY_NAME[call].compute(convert(given, BY_NAME[call].request), rules).result


def with_value(name, raw):
    """Return the house file with another value, and without the range that it allows."""
    text = edited()
    if f"\n  {name}:\n" not in text:  # it has a default
        entry = f"  {name}: {{value: {raw}, means: Mesh, source: from-memory}}\n"
        return text.replace("\nvalues:\n", f"\nvalues:\n{entry}")
    start = text.index(f"\n  {name}:\n") + 1
    end = text.index("\n", start)
    while text[end + 1 : end + 4] == "    ":
        end = text.index("\n", end + 1)
    written = f"[{raw[0]}]" if isinstance(raw, list) else raw
    entry = f"  {name}: {{value: {written}, means: m, source: from-memory}}"
    return text[:start] + entry + text[end:]
