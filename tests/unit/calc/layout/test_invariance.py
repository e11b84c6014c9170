"""What changes nothing: where an array stands, its mirror image, and the order of what is told.

Rails are told as they lie, some of them aslant or ending under the array; there are penetrations,
zones, readings and open edges.
"""

from __future__ import annotations

import msgspec
from gapwright.calc.layout.lay import lay_out, outline_plane
from gapwright.calc.layout.plane import Rail, SideFacts
from gapwright.calc.layout.strips import strips_of
from gapwright.calc.layout.warnings import warnings_of
from gapwright.rulesets.figures import Figure
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.calc.layout.test_whole import (
    CELLS,
    HIGH,
    MIRRORED,
    MOST_COLUMNS,
    MOST_ROWS,
    SOME,
    WIDE,
    counted,
    plane,
)
from tests.unit.make import baseline
from tests.unit.measures import IN

ACROSS, UP = MOST_COLUMNS * WIDE, MOST_ROWS * HIGH
FACTS = st.builds(
    SideFacts,
    open=st.sampled_from([None, None, True, False]),
    zone=st.sampled_from([None, "exposed", "visible"]),
    readings_nm=st.sampled_from([(), (), (7 * IN,)]),
)
LEVEL = st.tuples(st.integers(-4, ACROSS), st.integers(0, UP), st.integers(1, ACROSS)).map(
    lambda rail: ((rail[0], rail[1]), (rail[0] + rail[2], rail[1]))
)
UPRIGHT = st.tuples(st.integers(0, ACROSS), st.integers(-4, UP), st.integers(1, UP)).map(
    lambda rail: ((rail[0], rail[1]), (rail[0], rail[1] + rail[2]))
)
CORNERWISE = st.tuples(st.integers(0, MOST_COLUMNS), st.integers(0, MOST_ROWS)).map(
    lambda at: ((at[0] * WIDE - 20, at[1] * HIGH - 20), (at[0] * WIDE + 20, at[1] * HIGH + 20))
)


@st.composite
def planes(draw):
    rails = draw(st.lists(st.one_of(LEVEL, LEVEL, UPRIGHT, CORNERWISE), max_size=10))
    spot = st.tuples(st.integers(-4, ACROSS + 4), st.integers(-4, UP + 4))
    places = draw(st.lists(spot, max_size=4, unique=True))
    whole = plane(
        draw(CELLS),
        [Rail(start=inches(start), end=inches(end)) for start, end in rails],
        draw(st.dictionaries(st.sampled_from(list(MIRRORED)), FACTS, max_size=3)),
        [inches(place) for place in places],
    )
    sides = draw(st.dictionaries(st.integers(1, 8), FACTS, max_size=2))
    return msgspec.structs.replace(whole, sides={f"A{n}": facts for n, facts in sides.items()})


def inches(spot):
    return spot[0] * IN, spot[1] * IN


def laid(whole):
    outline = outline_plane(whole, baseline())
    strips = strips_of(Figure((9 * IN // 2,)), [(whole, outline.value)], baseline())
    return lay_out(whole, outline, baseline(), strips)


def warned(found):
    """Return the warnings of a laid plane in an order of their own."""
    return sorted(map(repr, warnings_of(found, baseline().values)))


def moved(whole, place):
    """Return a plane with every place on it put elsewhere; modules stay upright."""

    def module(each):
        x, y = place((each.x_nm, each.y_nm))
        u, v = place((each.x_nm + each.width_nm, each.y_nm + each.height_nm))
        return msgspec.structs.replace(each, x_nm=min(x, u), y_nm=min(y, v))

    return msgspec.structs.replace(
        whole,
        modules=[module(each) for each in whole.modules],
        rails=[Rail(start=place(rail.start), end=place(rail.end)) for rail in whole.rails],
        penetrations=[place(spot) for spot in whole.penetrations],
    )


@SOME
@given(planes(), st.integers(-(10**12), 10**12), st.integers(-(10**12), 10**12))
def test_moving_a_plane_with_all_that_is_on_it_changes_nothing_but_coordinates(whole, x_nm, y_nm):
    here, there = laid(whole), laid(moved(whole, lambda spot: (spot[0] + x_nm, spot[1] + y_nm)))
    assert [run.pieces for run in here.runs] == [run.pieces for run in there.runs]
    assert [run.layout for run in here.runs] == [run.layout for run in there.runs]
    assert counted(here) == counted(there)


@SOME
@given(planes(), st.randoms(use_true_random=False))
def test_the_order_in_which_things_are_told_changes_nothing(whole, chance):
    def shuffled(things):
        return chance.sample(list(things), len(things))

    rails = [
        chance.choice((rail, Rail(start=rail.end, end=rail.start)))
        for rail in shuffled(whole.rails)
    ]
    other = msgspec.structs.replace(
        whole,
        modules=shuffled(whole.modules),
        rails=rails,
        penetrations=shuffled(whole.penetrations),
        sides=dict(shuffled(whole.sides.items())),
        facings=dict(shuffled(whole.facings.items())),
    )
    here, there = laid(whole), laid(other)
    assert [run.pieces for run in here.runs] == [run.pieces for run in there.runs]
    assert counted(here) == counted(there)
    assert warned(here) == warned(there)
