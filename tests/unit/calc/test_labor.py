"""Hours follow from rates exactly; only days are rounded, and no surcharge rides on another."""

from __future__ import annotations

import itertools
from fractions import Fraction

import msgspec
import pytest
from gapwright.calc.labor import Work, estimate_labor
from gapwright.rulesets.figures import Figure, present
from gapwright.rulesets.ruleset import Effort, LaborFactor, Task
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.make import baseline
from tests.unit.measures import FT, STEADY


def effort(driver, minutes, one_per=1, when=(), rule="work.t.part.e"):
    return Effort(
        id="e", driver=driver, minutes=Fraction(minutes), one_per=one_per, when=when, rule=rule
    )


def task(name="t", job=(), estimated=(), counted=(), when=()):
    return Task(
        id=name,
        description="m",
        job=job,
        estimated=estimated,
        counted=counted or estimated,
        when=when,
        rule=f"work.{name}",
    )


def labor_factor(name, share, **facts):
    when = tuple((fact, frozenset({answer})) for fact, answer in facts.items())
    rule = f"labor_factors.{name}"
    return LaborFactor(id=name, description="m", share=Fraction(share), when=when, rule=rule)


def rules(*tasks, labor_factors=()):
    return msgspec.structs.replace(baseline(), work=tasks, labor_factors=tuple(labor_factors))


def work(
    estimated=None,
    counted=None,
    *,
    planes=1,
    arrays=1,
    facts=None,
    crew=2,
    working_day=Fraction(480),
):
    return Work(
        planes=planes,
        arrays=Figure(arrays),
        estimated={name: Figure(count) for name, count in (estimated or {}).items()},
        counted={name: Figure(count) for name, count in (counted or {}).items()},
        facts=facts or {},
        crew=Figure(crew),
        working_day=Figure(working_day),
    )


def minutes(job, ruled):
    """Return the time of one person that a job takes [min]."""
    return estimate_labor(job, ruled).person_minutes.value


FIT = task("fit", estimated=(effort("perimeter", 20, 10 * FT),))
HOUR = task("hour", job=(effort("job", 60),))


def test_time_goes_in_proportion_to_what_drives_it():
    assert minutes(work({"perimeter": 25 * FT}), rules(FIT)) == 50


def test_a_third_of_a_minute_stays_a_third():
    third = task(estimated=(effort("corners", 1, 3),))
    found = estimate_labor(work({"corners": 4}), rules(third))
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
    found = estimate_labor(
        work(estimated={"perimeter": FT}), rules(HOUR, task(estimated=(effort("corners", 9),)))
    )
    assert [task.task for task in present(found.tasks)] == ["hour"]


def test_a_rule_set_without_rates_says_nothing_and_not_no_time():
    assert estimate_labor(work(), rules()) is None


def test_a_task_is_done_only_where_its_condition_is_told_to_hold():
    by_hand = task("hand", job=(effort("job", 60),), when=(("bending", frozenset({"hand"})),))
    for facts, assumed in (({"bending": "hand"}, 120), ({"bending": "brake"}, 60), ({}, 60)):
        found = estimate_labor(work(facts=facts), rules(HOUR, by_hand))
        assert found.person_minutes.value == assumed
        assert found.missing == (() if facts else ("bending",))


def test_a_single_reason_may_have_a_condition_too():
    when = (("joining", frozenset({"ties"})),)
    both = task(job=(effort("job", 10), effort("job", 5, when=when)))
    assert minutes(work(facts={"joining": "ties"}), rules(both)) == 15
    assert minutes(work(facts={"joining": "rings"}), rules(both)) == 10
    assert estimate_labor(work(), rules(both)).missing == ("joining",)


STEEP = labor_factor("steep", "1/4", pitch="steep")
HIGH = labor_factor("high", "1/10", stories="two")
FACTS = {"pitch": "steep", "stories": "two"}


def test_labor_factors_add_up_and_none_is_taken_on_top_of_another():
    found = estimate_labor(work(facts=FACTS), rules(HOUR, labor_factors=(STEEP, HIGH)))
    assert [one.time.amount for one in present(found.labor_factors)] == [15, 6]
    assert found.person_minutes.value == 81


def test_a_labor_factor_that_is_not_called_for_is_not_taken_and_an_missing_fact_is_named():
    found = estimate_labor(work(facts={"pitch": "low"}), rules(HOUR, labor_factors=(STEEP, HIGH)))
    assert list(present(found.labor_factors)) == []
    assert found.missing == ("stories",)


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
    found = estimate_labor(work(crew=crew), rules(task(job=(effort("job", person_minutes),))))
    assert found.crew_minutes.value == Fraction(person_minutes) / crew
    assert found.days.value == Fraction(days)


COUNTS = st.integers(0, 10_000)
RATES = st.fractions(min_value=Fraction(1, 60), max_value=600, max_denominator=60)
SHARES = st.fractions(min_value=0, max_value=2, max_denominator=100)
DRIVERS = ("perimeter", "corners", "penetrations")
DRIVEN = st.fixed_dictionaries(dict.fromkeys(DRIVERS, COUNTS))


@st.composite
def rated(draw):
    """Draw a rule set with some tasks and surcharges."""
    tasks = [
        task(
            name,
            job=(effort("job", draw(RATES)), effort("planes", draw(RATES))),
            estimated=(
                effort(draw(st.sampled_from(DRIVERS)), draw(RATES), draw(st.integers(1, 9))),
            ),
        )
        for name in ("a", "b", "c")[: draw(st.integers(1, 3))]
    ]
    return rules(*tasks, labor_factors=[labor_factor(n, draw(SHARES), pitch="steep") for n in "xy"])


def times(found):
    return {task.task: task.time for task in present(found.tasks)}


@STEADY
@given(rated(), DRIVEN)
def test_the_order_of_tasks_labor_factors_and_drivers_changes_no_figure(ruled, thumb):
    job = work(estimated=thumb, facts={"pitch": "steep"})
    expected = estimate_labor(job, ruled)
    turned = work(dict(reversed(thumb.items())), facts={"pitch": "steep"})
    for tasks in itertools.permutations(ruled.work):
        other = rules(*tasks, labor_factors=ruled.labor_factors[::-1])
        found = estimate_labor(turned, other)
        assert found.person_minutes.value == expected.person_minutes.value
        assert found.days.value == expected.days.value
        assert times(found) == times(expected)


@STEADY
@given(rated(), DRIVEN)
def test_lines_and_labor_factors_add_up_to_the_total_exactly(ruled, thumb):
    found = estimate_labor(work(estimated=thumb, facts={"pitch": "steep"}), ruled)
    parts = [*found.tasks, *found.labor_factors]
    assert sum(part.value.time.amount for part in parts) == found.person_minutes.value
    assert found.crew_minutes.value * found.crew.value == found.person_minutes.value


@STEADY
@given(rated(), DRIVEN, st.integers(2, 6))
def test_a_larger_crew_takes_no_more_days_and_no_fewer_hours_in_all(ruled, thumb, crew):
    small, large = (estimate_labor(work(estimated=thumb, crew=n), ruled) for n in (crew, crew + 1))
    assert large.days.value <= small.days.value
    assert large.person_minutes.value == small.person_minutes.value
