"""The ledger says which versions there are, and which of them a name calls for on a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from gapwright.rulesets.ledger import (
    FILE,
    Record,
    RulesetNotFoundError,
    WithdrawnError,
    choose,
    parse_ledger,
    read_ledger,
    version_key,
)
from gapwright.rulesets.reader import RuleFileError
from gapwright.rulesets.shelf import Shelf
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.measures import STEADY

DIGEST = f"sha256:{'0' * 64}"


def published(name, day):
    return f"published {name} effective {day} {DIGEST}"


HOUSE = (
    published("house@1.0.0", "2026-01-01"),
    published("house@1.2.0", "2026-03-01"),
    published("house@1.10.0", "2026-06-01"),
    published("house@2.0.0", "2026-09-01"),
    published("annex@1.0.0", "2026-02-01"),
)


def shelf(folder, *lines):
    (folder / FILE).write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return Shelf(folder)


def told(*lines):
    """Return the lines that are no records, with what is said of each."""
    with pytest.raises(RuleFileError) as caught:
        parse_ledger(lines)
    for problem in caught.value.problems:
        assert problem.file == FILE
        assert problem.remedy
    return {problem.line: problem.problem for problem in caught.value.problems}


@pytest.mark.parametrize(
    ("name", "day", "version"),
    [
        ("house", "2026-01-01", "1.0.0"),
        ("house", "2026-02-28", "1.0.0"),
        ("house", "2026-03-01", "1.2.0"),
        ("house", "2026-05-31", "1.2.0"),
        ("house", "2026-06-01", "1.10.0"),
        ("house", "2026-08-31", "1.10.0"),
        ("house", "2026-09-01", "2.0.0"),
        ("house", "2099-12-31", "2.0.0"),
        ("house@1", "2026-02-01", "1.0.0"),
        ("house@1", "2026-09-01", "1.10.0"),
        ("house@2", "2026-09-01", "2.0.0"),
        ("house@1.2.0", "2026-12-01", "1.2.0"),
        ("house@2.0.0", "2025-01-01", "2.0.0"),
        ("annex", "2026-02-01", "1.0.0"),
    ],
)
def test_a_name_calls_for_the_version_in_force_that_day(tmp_path, name, day, version):
    record = shelf(tmp_path, *HOUSE).record(name, date.fromisoformat(day))
    assert record.version == version
    assert record.id == name.split("@")[0]


@pytest.mark.parametrize(
    ("name", "day", "says"),
    [
        ("house", "2025-12-31", "2026-01-01"),
        ("annex", "2026-01-31", "2026-02-01"),
        ("house@2", "2026-08-31", "2026-09-01"),
        ("house@3", "2026-12-01", "house@3"),
        ("house@1.1.0", "2026-12-01", "Expected one of 1.0.0, 1.2.0, 1.10.0, 2.0.0"),
        ("house@1.2", "2026-12-01", "Expected one of "),
        ("house@v1", "2026-12-01", "house@v1"),
        ("house@", "2026-12-01", "house@"),
        ("hose", "2026-12-01", "mean 'house'?"),
        ("", "2026-12-01", "Unknown rule set"),
        ("@1.0.0", "2026-12-01", "Unknown rule set"),
    ],
)
def test_what_is_not_there_or_not_in_force_is_told(tmp_path, name, day, says):
    with pytest.raises(RulesetNotFoundError) as caught:
        shelf(tmp_path, *HOUSE).record(name, date.fromisoformat(day))
    assert says in str(caught.value)


@settings(STEADY, max_examples=60)
@given(
    st.lists(st.integers(0, 400), min_size=1, max_size=6).map(sorted),
    st.integers(-5, 405),
)
def test_the_first_day_belongs_to_a_version_and_the_day_before_to_the_one_before(starts, asked):
    first = date(2026, 1, 1)
    lines = [
        published(f"house@1.{at}.0", first + timedelta(days)) for at, days in enumerate(starts)
    ]
    versions = list(parse_ledger(lines)["house"].values())
    begun = [at for at, days in enumerate(starts) if days <= asked]
    found = in_force(versions, first + timedelta(asked))
    assert found == (versions[begun[-1]].version if begun else None)


def in_force(records, on):
    """Return the version of these records that is picked on a day, None where none is."""
    ledger = {"house": {record.version: record for record in records}}
    try:
        return choose(ledger, "house", on, "rule set").version
    except RulesetNotFoundError:
        return None


WITHDRAWN = (*HOUSE, "withdrawn house@1.10.0 on 2026-07-15", "withdrawn annex@1.0.0 on 2026-08-01")


def test_a_withdrawn_version_is_not_quoted_under_when_it_is_named(tmp_path):
    with pytest.raises(WithdrawnError, match=r"house@1\.10\.0 was withdrawn on 2026-07-15"):
        shelf(tmp_path, *WITHDRAWN).record("house@1.10.0", date(2026, 6, 15))


@pytest.mark.parametrize("name", ["house", "house@1"])
def test_a_withdrawn_version_is_passed_over_on_every_day(tmp_path, name):
    kept = shelf(tmp_path, *WITHDRAWN)
    for day in (date(2026, 6, 15), date(2026, 7, 15), date(2026, 8, 1)):
        assert kept.record(name, day).version == "1.2.0"


def test_a_rule_set_of_which_every_version_is_withdrawn_is_not_quoted_under(tmp_path):
    with pytest.raises(RulesetNotFoundError, match="withdrawn"):
        shelf(tmp_path, *WITHDRAWN).record("annex", date(2026, 12, 1))


def test_a_withdrawn_version_stands_in_the_ledger_still(tmp_path):
    record = shelf(tmp_path, *WITHDRAWN).ledger["house"]["1.10.0"]
    assert record.withdrawn == date(2026, 7, 15)
    assert record.effective == date(2026, 6, 1)


def test_versions_stand_from_the_oldest_to_the_newest_whatever_the_order_of_the_lines():
    for lines in (HOUSE, HOUSE[::-1]):
        assert list(parse_ledger(lines)["house"]) == ["1.0.0", "1.2.0", "1.10.0", "2.0.0"]


def test_versions_are_ordered_by_number_and_not_by_letter():
    versions = ["0.9.0", "1.0.0", "1.0.2", "1.0.10", "1.2.0", "1.10.0", "2.0.0", "10.0.0"]
    assert sorted(sorted(versions), key=version_key) == versions


def test_a_record_writes_the_line_that_it_is_read_from():
    (record,) = parse_ledger([HOUSE[0]])["house"].values()
    assert record.line() == HOUSE[0]
    assert record.name == "house@1.0.0"
    assert record == Record(
        id="house", version="1.0.0", effective=date(2026, 1, 1), digest=DIGEST, withdrawn=None
    )


def test_comments_and_empty_lines_are_passed_over():
    assert parse_ledger(["# our ledger", "", "   ", f"  {HOUSE[0]}  "]) == parse_ledger([HOUSE[0]])


def test_a_folder_without_a_ledger_has_no_rule_sets(tmp_path):
    assert read_ledger(tmp_path) == {}


@pytest.mark.parametrize(
    "line",
    [
        "published house@1.0.0",
        f"published house@1.0 effective 2026-01-01 {DIGEST}",
        f"published House@1.0.0 effective 2026-01-01 {DIGEST}",
        f"published ../etc@1.0.0 effective 2026-01-01 {DIGEST}",
        f"published house@1.0.0 effective 2026-01-01 {DIGEST[:-1]}",
        f"published house@1.0.0 effective 2026-01-01 {DIGEST.replace('0', 'g')}",
        f"published house@1.0.0 effective 2026-01-01 {DIGEST} and more",
        f"published house@1.0.0 from 2026-01-01 {DIGEST}",
        f"published house@١.٠.٠ effective 2026-01-01 {DIGEST}",
        f"published house@01.0.0 effective 2026-01-01 {DIGEST}",
        "withdrawn house@1.0.0",
        "house@1.0.0",
        "<<<<<<< ours",
    ],
)
def test_a_line_that_is_no_record_is_told_with_its_number(line):
    assert "not a valid ledger line" in told(HOUSE[4], "", line)[3]


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01", "0000-01-01"])
def test_a_day_that_does_not_exist_is_told(day):
    assert day in told(published("house@1.0.0", day))[1]


def test_a_version_that_is_published_twice_is_told_also_with_the_same_digest():
    assert "twice" in told(HOUSE[0], HOUSE[0])[2]
    assert "twice" in told(HOUSE[0], HOUSE[0].replace("0" * 64, "1" * 64))[2]


def test_a_withdrawal_of_what_was_not_published_before_is_told():
    assert "never published" in told("withdrawn house@1.0.0 on 2026-05-01", HOUSE[0])[1]
    assert "never published" in told(HOUSE[0], "withdrawn house@1.0.1 on 2026-05-01")[2]


def test_all_faults_of_a_ledger_are_told_in_one_go():
    assert set(told("nonsense", HOUSE[0], HOUSE[0], "withdrawn annex@9.0.0 on 2026-05-01")) == {
        1,
        3,
        4,
    }


@pytest.mark.parametrize("raw", [b"\xff\xfe", b"# \xe9\n"])
def test_a_ledger_that_is_no_utf_8_is_told(tmp_path, raw):
    (tmp_path / FILE).write_bytes(raw)
    with pytest.raises(RuleFileError) as caught:
        read_ledger(tmp_path)
    assert caught.value.problems[0].file == FILE
