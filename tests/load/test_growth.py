"""Work grows with the job: counted in calls, so that no other work on the machine matters.

Cut plans are left out: how much they search depends on how the pieces fit the rolls.
"""

from __future__ import annotations

import sys

from gapwright.calc.layout.lay import lay_out, outline_plane

from tests.load.planes import grid, plane, separate_arrays
from tests.unit.make import baseline


def calls(modules):
    """Return how many calls of functions a layout of some modules takes."""
    rules, whole, count = baseline(), plane(modules), 0
    lay_out(whole, outline_plane(whole, rules), rules)  # what is made once for all is not counted

    def counted(_frame, _event, _arg):
        nonlocal count
        count += 1

    sys.setprofile(counted)
    try:
        lay_out(whole, outline_plane(whole, rules), rules)
    finally:
        sys.setprofile(None)
    return count


def test_four_times_as_many_arrays_take_little_more_than_four_times_the_work():
    assert calls(separate_arrays(160, alike=True)) < 4.4 * calls(separate_arrays(40, alike=True))


def test_arrays_of_several_sizes_take_less_for_each_the_more_there_are():
    assert calls(separate_arrays(160, alike=False)) < 4 * calls(separate_arrays(40, alike=False))


def test_a_grid_with_sixteen_times_the_modules_takes_little_more_work_than_that():
    assert calls(grid(24, 64)) < 18 * calls(grid(6, 16))
