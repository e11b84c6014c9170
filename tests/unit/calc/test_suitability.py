from __future__ import annotations

from typing import get_args

import pytest
from gapwright.calc.suitability import AssumedValue, judge_site
from gapwright.facts import SITE_FLAGS, Covering, Racking, Site
from gapwright.rulesets.reader import RuleFileError
from gapwright.rulesets.vocabulary import VERDICTS

from tests.unit.make import baseline, edited, rules_of
from tests.unit.measures import IN, inches

COVERINGS = get_args(Covering)
RACKINGS = get_args(Racking)
SOUND = Site(**dict.fromkeys(SITE_FLAGS, False))
GAP = (inches("4 1/2"),)


def judged(
    roof_covering="asphalt_shingle", racking="rail_mounted", readings=GAP, site=SOUND, rules=None
):
    rules = rules or baseline()
    arrays = (readings,) if readings else ()
    return judge_site(roof_covering, racking, arrays, site, rules).result(rules)


def rows(found):
    return [reason.rule.rsplit(".", 1)[-1] for reason in found.reasons]


def test_asphalt_shingle_on_rails_is_suitable_and_fixed_to_the_rails():
    found = judged()
    assert (found.verdict, found.attachment, found.shape) == ("suitable", "rails", "C")
    assert rows(found) == ["shingle_on_rails"]


def test_without_rails_the_strip_is_still_folded_and_held_by_something_else():
    found = judged(racking="railless")
    assert found.verdict == "conditional"
    assert found.attachment not in ("rails", "undecided")
    assert found.shape == "C or L"


def test_each_array_is_judged_by_itself():
    low, high = (1 * IN,), (5 * IN,) * 12
    for arrays in ((low, high), (high, low)):
        found = judge_site("asphalt_shingle", "rail_mounted", arrays, SOUND, baseline())
        assert found.verdict == "unsuitable"


def test_an_active_nest_stops_the_best_of_roofs():
    found = judged(site=Site(active_nest=True))
    assert found.verdict == "unsuitable"
    assert "Stop" in found.reasons[0].text


@pytest.mark.parametrize(
    ("flag", "verdict"),
    [
        ("active_nest", "unsuitable"),
        ("bat_roost", "unsuitable"),
        ("poor_roof_condition", "unsuitable"),
        ("damaged_wiring", "unsuitable"),
        ("manufacturer_prohibits", "unsuitable"),
        ("animals_present", "conditional"),
    ],
)
def test_each_flag_of_the_site_gives_its_verdict_a_reason_and_a_remedy(flag, verdict):
    found = judged(site=Site(**{flag: True}))
    reason = next(r for r in found.reasons if r.rule == f"tables.suitability.rows.{flag}")
    assert found.verdict == reason.verdict == verdict
    assert reason.remedy


@pytest.mark.parametrize("roof_covering", COVERINGS)
@pytest.mark.parametrize("racking", RACKINGS)
def test_every_roof_gets_a_verdict_an_attachment_and_a_reason(roof_covering, racking):
    found = judged(roof_covering, racking)
    assert found.verdict in VERDICTS
    assert found.reasons
    assert found.attachment
    assert (found.attachment == "rails") is (racking == "rail_mounted")


def test_the_gravest_reason_stands_first_and_gives_the_verdict():
    site = Site(active_nest=True, animals_present=True)
    found = judged("unknown", "railless", (), site)
    order = [VERDICTS.index(reason.verdict) for reason in found.reasons]
    assert order == sorted(order)
    assert found.verdict == found.reasons[0].verdict == "unsuitable"
    assert set(rows(found)) == {
        "active_nest",
        "animals_present",
        "not_measured",
        "unknown_covering",
        "railless",
    }


@pytest.mark.parametrize(
    ("reading", "row"),
    [("1 31/64", "too_low"), ("1 1/2", None), ("9 63/64", None), ("10", "too_high")],
)
def test_a_range_of_the_clearance_holds_its_first_length_and_not_its_last(reading, row):
    found = rows(judged(readings=(inches(reading),)))
    assert found == ([row, "shingle_on_rails"] if row else ["shingle_on_rails"])


def test_a_tight_reading_that_gets_no_channel_is_not_hidden_by_a_high_one():
    found = judged(readings=(1 * IN, 1 * IN, 4 * IN))
    assert found.verdict != "suitable"


def test_what_was_not_told_is_listed_as_assumed():
    found = judged(readings=(), site=Site(active_nest=False))
    assumed = {one.fact: one.assumed for one in found.assumptions}
    assert assumed.pop("clearance").nm == baseline().values.default_clearance
    assert assumed == dict.fromkeys(set(SITE_FLAGS) - {"active_nest"}, AssumedValue(False))
    assert "not_measured" in rows(found)


def test_a_job_that_is_told_in_full_assumes_nothing():
    assert judged().assumptions == ()


def test_a_verdict_on_a_gap_that_nobody_measured_is_never_plainly_suitable():
    assert judged(readings=()).verdict == "conditional"


def test_a_roof_that_no_row_speaks_of_is_told_when_the_file_is_read_or_answered_on_the_roof():
    text = edited(
        (
            "when: {roof_covering: asphalt_shingle, racking: rail_mounted}",
            "when: {roof_covering: clay_tile}",
        )
    )
    try:
        answered = judged(rules=rules_of(text)).verdict
    except RuleFileError as error:
        answered = str(error)
    assert answered in VERDICTS or "asphalt_shingle" in answered
