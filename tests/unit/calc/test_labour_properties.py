"""What is true of the hours of any job, whatever the rates."""

from __future__ import annotations

import itertools
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from service.calc.labour import labour
from tests.unit.calc.work import effort, rules, surcharge, task, work
from tests.unit.measures import STEADY

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
    return rules(*tasks, surcharges=[surcharge(n, draw(SHARES), pitch="steep") for n in "xy"])


def times(found):
    return {task.value.task: task.value.time for task in found.tasks}


@STEADY
@given(rated(), DRIVEN)
def test_the_order_of_tasks_surcharges_and_drivers_changes_no_figure(ruled, thumb):
    job = work(estimated=thumb, facts={"pitch": "steep"})
    expected = labour(job, ruled)
    turned = work(dict(reversed(thumb.items())), facts={"pitch": "steep"})
    for tasks in itertools.permutations(ruled.work):
        other = rules(*tasks, surcharges=ruled.surcharges[::-1])
        found = labour(turned, other)
        assert found.person_minutes.value == expected.person_minutes.value
        assert found.days.value == expected.days.value
        assert times(found) == times(expected)


@STEADY
@given(rated(), DRIVEN)
def test_lines_and_surcharges_add_up_to_the_total_exactly(ruled, thumb):
    found = labour(work(estimated=thumb, facts={"pitch": "steep"}), ruled)
    parts = [*found.tasks, *found.surcharges]
    assert sum(part.value.time.amount for part in parts) == found.person_minutes.value
    assert found.crew_minutes.value * found.crew.value == found.person_minutes.value


@STEADY
@given(rated(), DRIVEN, st.integers(2, 6))
def test_a_larger_crew_takes_no_more_days_and_no_fewer_hours_in_all(ruled, thumb, crew):
    small, large = (labour(work(estimated=thumb, crew=n), ruled) for n in (crew, crew + 1))
    assert large.days.value <= small.days.value
    assert large.person_minutes.value == small.person_minutes.value
