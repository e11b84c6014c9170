from __future__ import annotations

import itertools
import re

from gapwright.calc.layout.plane import SideFacts
from gapwright.drawing.canvas import Occupancy
from gapwright.drawing.legend import piece_pattern
from gapwright.quantity.show import long

from tests.unit.drawing.read import SVG, boxes, groups, overlapping, paths, root_of, texts
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


def test_a_piece_that_is_not_of_standard_length_has_its_length_beside_its_name():
    plane = laid(grid(1, 3))
    shown = texts(groups(read(plane), "Names of pieces")[0])
    lengths = {named.piece.cut_nm for named in plane.runs[0].pieces}
    assert len(lengths) > 1
    for named in plane.runs[0].pieces:
        length = long(named.piece.cut_nm, "imperial", "up").text
        assert (named.name if length == "10 ft" else f"{named.name}: {length}") in shown


def test_names_stand_outside_of_the_array():
    for corner in ((0, 0), (0, 6)):
        without = {corner, (1, corner[1])}
        plane = laid(grid(3, 7, without=without), sides={"A-left": SideFacts(open=True)})
        root = read(plane)
        modules = paths(groups(root, "19 modules")[0], "module")[0].get("d")
        rects = [
            (float(x), float(y) + float(up), float(x) + float(right), float(y))
            for x, y, up, right in re.findall(r"M(\S+) (\S+?)v(\S+?)h(\S+?)v", modules)
        ]
        for _, (left, top, right, bottom) in boxes(groups(root, "Names of pieces")[0]):
            x, y = (left + right) / 2, (top + bottom) / 2
            assert not any(a < x < c and b < y < d for a, b, c, d in rects)


def listed(root):
    """Return what is listed below the plan, each with its number, or "" where it has none."""
    found = []
    for group in groups(root, "Remarks"):
        for row in group.iter(f"{SVG}g"):
            for lines in row.findall(f"{SVG}g[@transform='translate(28 0)']"):
                number = "".join(text.text for text in row.findall(f"{SVG}text"))
                found.append((number, " ".join(texts(lines))))
    return found


def test_every_name_is_on_the_plan_or_listed_by_a_number_that_is():
    plane = laid(scattered(6, 9))
    root = read(plane)
    by_number = listed(root)
    on_plan = texts(groups(root, "Numbers of names")[0]) + texts(groups(root, "Widths")[0])
    on_plan += texts(groups(root, "Depths")[0])
    assert {number for number, _ in by_number if number} <= set(on_plan)
    numbered = [text for number, text in by_number if number]
    below = [one.split(":")[0] for text in numbered for one in text.split("; ")]
    for label, names in (
        ("pieces", [piece.name for run in plane.runs for piece in run.pieces]),
        ("sides", [side.name for side in plane.sides]),
    ):
        shown = [re.split("[ :]", t)[0] for t in texts(groups(root, f"Names of {label}")[0])]
        assert sorted(shown + [name for name in below if name in names]) == sorted(names)
    assert overlapping(boxes(root)) == []


def test_a_side_without_room_is_listed_with_its_length():
    plane = laid(grid(30, 30, without={(1, 3), (1, 4), (2, 3)}))
    below = listed(read(plane))
    lengths = {s.name: long(s.length_nm, "imperial", "up").text for s in plane.sides}
    parts = [part for _, text in below for part in text.split("; ")]
    sides = [part for part in parts if part.split(":")[0] in lengths]
    assert len(sides) > 4
    assert set(sides) <= {f"{name}: {length}" for name, length in lengths.items()}


def test_a_side_that_has_only_its_name_on_the_plan_is_listed_with_its_length():
    plane = laid(scattered(6, 9))
    root = read(plane)
    shown = texts(groups(root, "Names of sides")[0])
    short = [text for text in shown if ":" not in text]
    assert short
    unnumbered = {text.split(":")[0]: text for number, text in listed(root) if not number}
    lengths = {s.name: long(s.length_nm, "imperial", "up").text for s in plane.sides}
    for name in short:
        assert unnumbered[name] == f"{name}: {lengths[name]}"


def test_a_crowded_sheet_takes_bounded_work_and_lists_what_has_no_place(monkeypatch):
    monkeypatch.setattr(Occupancy, "MAX_QUERIES", 200)
    plane = laid(scattered(6, 6))
    root = read(plane)
    below = " ".join(text for _, text in listed(root))
    above = " ".join(texts(root))
    for name in [side.name for side in plane.sides]:
        assert f"{name}:" in below or name in above


def test_neighboring_pieces_never_share_a_pattern():
    for count in range(2, 40):
        patterns = [piece_pattern(number, count) for number in range(count)]
        assert all(a != b for a, b in itertools.pairwise(patterns))
        assert patterns[0] != patterns[-1], "in a loop the first piece overlaps the last"
        assert set(patterns) <= {0, 1, 2}
