"""Hours follow from rates exactly; only days are rounded, and no surcharge rides on another."""

from __future__ import annotations

from fractions import Fraction

import pytest

from service.calc.labour import labour
from tests.unit.calc.work import effort, minutes, rules, surcharge, task, work
from tests.unit.measures import FT

FIT = task("fit", estimated=(effort("perimeter", 20, 10 * FT),))
HOUR = task("hour", job=(effort("job", 60),))


def test_time_goes_in_proportion_to_what_drives_it():
    assert minutes(work({"perimeter": 25 * FT}), rules(FIT)) == 50


def test_a_third_of_a_minute_stays_a_third():
    third = task(estimated=(effort("corners", 1, 3),))
    found = labour(work({"corners": 4}), rules(third))
    assert found.person_minutes.value == Fraction(4, 3)
    assert found.crew_minutes.value == Fraction(2, 3)


def test_the_job_counts_once_and_planes_and_arrays_as_often_as_there_are():
    once = task(job=(effort("job", 7), effort("planes", 100), effort("arrays", 1000)))
    job = work(planes=2, arrays=3, counted={"perimeter": FT})
    assert minutes(job, rules(once)) == 7 + 200 + 3000


def test_estimated_arrays_go_by_thumb_rules_and_laid_out_ones_by_counts():
    both = task(estimated=(effort("perimeter", 20, FT),), counted=(effort("tabs", 3),))
    job = work(estimated={"perimeter": 2 * FT}, counted={"perimeter": 99 * FT, "tabs": 5})
    assert minutes(job, rules(both)) == 40 + 15


def test_where_a_layout_has_no_rates_of_its_own_the_thumb_rule_holds_for_it():
    job = work(estimated={"perimeter": 10 * FT}, counted={"perimeter": 20 * FT})
    assert minutes(job, rules(FIT)) == 60


def test_a_task_that_takes_no_time_is_left_out():
    found = labour(
        work(estimated={"perimeter": FT}), rules(HOUR, task(estimated=(effort("corners", 9),)))
    )
    assert [task.value.task for task in found.tasks] == ["hour"]


def test_a_rule_set_without_rates_says_nothing_and_not_no_time():
    assert labour(work(), rules()) is None


def test_a_task_is_done_only_where_its_condition_is_told_to_hold():
    by_hand = task("hand", job=(effort("job", 60),), when=(("bending", frozenset({"hand"})),))
    for facts, taken in (({"bending": "hand"}, 120), ({"bending": "brake"}, 60), ({}, 60)):
        found = labour(work(facts=facts), rules(HOUR, by_hand))
        assert found.person_minutes.value == taken
        assert found.untold == (() if facts else ("bending",))


def test_a_single_reason_may_have_a_condition_too():
    when = (("joining", frozenset({"ties"})),)
    both = task(job=(effort("job", 10), effort("job", 5, when=when)))
    assert minutes(work(facts={"joining": "ties"}), rules(both)) == 15
    assert minutes(work(facts={"joining": "rings"}), rules(both)) == 10
    assert labour(work(), rules(both)).untold == ("joining",)


STEEP = surcharge("steep", "1/4", pitch="steep")
HIGH = surcharge("high", "1/10", storeys="two")
FACTS = {"pitch": "steep", "storeys": "two"}


def test_surcharges_add_up_and_none_is_taken_on_top_of_another():
    found = labour(work(facts=FACTS), rules(HOUR, surcharges=(STEEP, HIGH)))
    assert [one.value.time.amount for one in found.surcharges] == [15, 6]
    assert found.person_minutes.value == 81


def test_a_surcharge_that_is_not_called_for_is_not_taken_and_an_untold_fact_is_named():
    found = labour(work(facts={"pitch": "low"}), rules(HOUR, surcharges=(STEEP, HIGH)))
    assert found.surcharges == ()
    assert found.untold == ("storeys",)


@pytest.mark.parametrize(
    ("person_minutes", "crew", "days"),
    [
        (480, 2, "1/2"),
        (481, 2, "1"),
        (960, 2, "1"),
        ("2881/3", 2, "3/2"),
        (960, 3, "1"),
        (720, 3, "1/2"),
        (1, 2, "1/2"),
    ],
)
def test_days_of_the_crew_go_up_to_half_ones(person_minutes, crew, days):
    found = labour(work(crew=crew), rules(task(job=(effort("job", person_minutes),))))
    assert found.crew_minutes.value == Fraction(person_minutes) / crew
    assert found.days.value == Fraction(days)
