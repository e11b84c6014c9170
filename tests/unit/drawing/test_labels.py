from __future__ import annotations

import itertools
import re

from gapwright.calc.layout.plane import SideFacts
from gapwright.drawing.channel import piece_pattern
from gapwright.drawing.placement import Occupancy
from gapwright.quantity.show import long

from tests.unit.drawing.read import boxes, groups, overlapping, paths, root_of, texts
from tests.unit.drawing.roofs import drawn, grid, laid


def read(plane):
    return root_of(drawn(plane))


def scattered(columns, rows):
    """Return modules that each stand alone, too near to each other for names."""
    return [
        module
        for column in range(columns)
        for row in range(rows)
        for module in grid(1, 1, x=56 * column, y=90 * row)
    ]


def test_where_there_is_room_the_length_to_cut_stands_beside_the_name():
    plane = laid(grid(1, 3))
    shown = texts(groups(read(plane), "Names of pieces")[0])
    for named in plane.runs[0].pieces:
        assert f"{named.name} {long(named.piece.cut_nm, 'imperial', 'up').text}" in shown


def test_names_stand_outside_of_the_array():
    for corner in ((0, 0), (0, 6)):
        without = {corner, (1, corner[1])}
        plane = laid(grid(3, 7, without=without), sides={"A-eave-1": SideFacts(open=True)})
        root = read(plane)
        modules = paths(groups(root, "19 modules")[0], "module")[0].get("d")
        rects = [
            (float(x), float(y) + float(up), float(x) + float(right), float(y))
            for x, y, up, right in re.findall(r"M(\S+) (\S+?)v(\S+?)h(\S+?)v", modules)
        ]
        for _, (left, top, right, bottom) in boxes(groups(root, "Names of pieces")[0]):
            x, y = (left + right) / 2, (top + bottom) / 2
            assert not any(a < x < c and b < y < d for a, b, c, d in rects)


def test_every_name_is_on_the_plan_or_listed_below_it():
    plane = laid(scattered(12, 9))
    root = read(plane)
    remarks = " ".join(texts(groups(root, "Remarks")[0]))
    for label, names in (
        ("pieces", [piece.name for run in plane.runs for piece in run.pieces]),
        ("sides", [side.name for side in plane.sides]),
    ):
        shown = [re.split("[ :]", t)[0] for t in texts(groups(root, f"Names of {label}")[0])]
        found = re.search(
            rf"{label.capitalize()} not labeled on the plan: (.*?)[.](?: |$)", remarks
        )
        for stretch in re.split("[,;] ", found[1]):
            first, _, last = stretch.partition(" to ")
            shown += names[names.index(first) : names.index(last or first) + 1]
        assert sorted(shown) == sorted(names)
    assert overlapping(boxes(root)) == []


def test_a_few_sides_without_a_label_are_listed_with_their_lengths():
    remarks = " ".join(texts(groups(read(laid(grid(1, 60))), "Remarks")[0]))
    assert "Sides not labeled on the plan: A-eave: 204 ft 11 in; A-right: 5 ft 6 in" in remarks


def test_a_crowded_sheet_takes_bounded_work(monkeypatch):
    monkeypatch.setattr(Occupancy, "MAX_QUERIES", 200)
    root = read(laid(scattered(6, 6)))
    assert "Pieces not labeled on the plan" in " ".join(texts(groups(root, "Remarks")[0]))


def test_neighboring_pieces_never_share_a_pattern():
    for count in range(2, 40):
        patterns = [piece_pattern(number, count) for number in range(count)]
        assert all(a != b for a, b in itertools.pairwise(patterns))
        assert patterns[0] != patterns[-1], "in a loop the first piece overlaps the last"
        assert set(patterns) <= {0, 1, 2}
