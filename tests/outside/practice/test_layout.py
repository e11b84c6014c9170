"""What a layout counts on ordinary arrays, against the thumb rules. Common practice, no source.

Ordinary: 8 to 40 modules of about 66 in by 40 in, half an inch apart, two rails to a row. Crews
reckon the mesh as the perimeter and a fifth more, a ring every 2 ft, or in place of rings a tie
every 4 ft, and a screw every 6 ft. How near a layout should come is common practice as well:
mesh 15 %, rings and ties 25 %, screws 35 % for two or three rows that are wider than tall, and
more screws than that for tall ones, since each rail end takes one. Three rows that are nearly
square, or of modules laid across, have as many rail ends to a foot as tall ones do; so single
arrays are judged where modules stand upright and the array is a quarter wider than tall, and
the rest by their middle one.
"""

from __future__ import annotations

from functools import cache
from statistics import median
from typing import NamedTuple

import pytest
from gapwright.calls.materials import MaterialsRequest, materials
from gapwright.strict import convert

from tests.unit.make import baseline
from tests.unit.wire import as_sent

LONG, SHORT, GAP = 66, 40, 0.5


class Array(NamedTuple):
    rows: int
    columns: int
    orientation: str

    @property
    def proportion(self) -> float:
        """Return how many times as wide as tall it is."""
        across, up = (SHORT, LONG) if self.orientation == "portrait" else (LONG, SHORT)
        return self.columns * (across + GAP) / (self.rows * (up + GAP))


def arrays(rows):
    return [
        Array(row, column, way)
        for row in rows
        for column in range(2, 21)
        if 8 <= row * column <= 40
        for way in ("portrait", "landscape")
    ]


ALL = arrays(range(2, 7))
WIDE = [each for each in arrays((2, 3)) if each.proportion > 1]
PLAINLY_WIDE = [e for e in WIDE if e.orientation == "portrait" and e.proportion >= 1.25]
TALL = [each for each in ALL if each.proportion < 1]


@cache
def counted(array, joining):
    """Return each item's parts as counted, and the perimeter in feet."""
    block = {
        "rows": array.rows,
        "columns": array.columns,
        "orientation": array.orientation,
        "long_side": f"{LONG} in",
        "short_side": f"{SHORT} in",
        "column_gap": f"{GAP} in",
        "row_gap": f"{GAP} in",
    }
    job = {"layout": {"array": {"blocks": [block]}}, "strip_width": "8 in", "joining": joining}
    found = as_sent(materials(convert(job, MaterialsRequest), baseline()).result)
    parts = {line.item: {p.need: p.quantity for p in line.parts} for line in found.lines}
    return parts, found.perimeter.value


def mesh(array):
    parts, perimeter = counted(array, "rings")
    return sum(parts["mesh"].values()) / (1.2 * perimeter)


def rings(array):
    parts, perimeter = counted(array, "rings")
    return sum(parts["ring"].values()) / (perimeter / 2)


def ties(array):
    parts, perimeter = counted(array, "ties")
    return parts["tie"]["joining"] / (perimeter / 4)


def screws(array):
    parts, perimeter = counted(array, "rings")
    return sum(parts["screw"].values()) / (perimeter / 6)


@pytest.mark.parametrize(
    ("measure", "share"), [(mesh, 0.15), (rings, 0.25), (ties, 0.25)], ids=["mesh", "rings", "ties"]
)
def test_on_each_ordinary_array_a_layout_comes_near_the_thumb_rule(measure, share):
    assert len(ALL) > 90
    assert [each for each in ALL if abs(measure(each) - 1) > share] == []


def test_on_each_array_that_is_plainly_wider_than_tall_screws_come_near_the_thumb_rule():
    assert len(PLAINLY_WIDE) > 20
    assert [each for each in PLAINLY_WIDE if abs(screws(each) - 1) > 0.35] == []


def test_on_the_middle_one_of_all_wide_arrays_screws_come_near_the_thumb_rule():
    assert abs(median(map(screws, WIDE)) - 1) <= 0.35


def test_on_each_tall_array_screws_are_above_the_thumb_rule():
    assert len(TALL) > 15
    assert [each for each in TALL if screws(each) <= 1.35] == []
