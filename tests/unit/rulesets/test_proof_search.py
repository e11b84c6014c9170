"""The exact search against trying every point, on rows drawn at the edge of covering everything."""

from functools import reduce
from itertools import product
from operator import and_
from random import Random

import pytest

from service.rulesets.proof.search import Purse, Search, TooTangledError


def whole(cells):
    return (1 << cells) - 1


def masks_of(sides, sizes):
    return [
        [sum(1 << row for row, side in enumerate(own) if side >> cell & 1) for cell in range(size)]
        for own, size in zip(sides, sizes, strict=True)
    ]


def drawn(random):
    """Return dimension sizes and each dimension's sides, some rows scattered and some ranges."""
    sizes = [random.randint(1, 4) for _ in range(random.randint(1, 5))]
    density, scattered = random.choice([0.3, 0.5, 0.7, 0.85]), random.random() < 0.5
    rows = []
    for _ in range(random.randint(0, 40)):
        row = [whole(size) for size in sizes]
        for place in random.sample(range(len(sizes)), random.randint(0, len(sizes))):
            if scattered:
                cells = [cell for cell in range(sizes[place]) if random.random() < density]
            else:
                first = random.randrange(sizes[place])
                cells = range(first, random.randint(first, sizes[place]))
            row[place] = sum(1 << cell for cell in cells)
        rows.append(row)
    return sizes, [[row[place] for row in rows] for place in range(len(sizes))]


def columns_of(masks):
    return {place: {mask: cell for cell, mask in enumerate(own)} for place, own in enumerate(masks)}


def covering(masks, sizes, point, rows):
    picks = (own[point[place]] for place, own in enumerate(masks) if place in point)
    return reduce(and_, picks, rows)


def uncovered(masks, sizes, rows):
    points = (dict(enumerate(cells)) for cells in product(*map(range, sizes)))
    return [point for point in points if not covering(masks, sizes, point, rows)]


@pytest.mark.parametrize("seed", range(20))
def test_a_point_is_found_just_when_one_is_uncovered(seed):
    random = Random(seed)
    for _ in range(100):
        sizes, sides = drawn(random)
        masks, rows = masks_of(sides, sizes), whole(len(sides[0]))
        columns = columns_of(masks)
        expected = uncovered(masks, sizes, rows)
        found = Search(sides, 10**6).settle(columns, rows)
        exists = Search(sides, 10**6).settle(columns, rows, locate=False)
        assert isinstance(found, dict) == isinstance(exists, dict) == bool(expected)
        if expected:
            assert found in expected
        else:
            assert found & ~rows == 0
            assert not uncovered(masks, sizes, found)
            assert not uncovered(masks, sizes, exists)


def crowded(guests, rooms):
    """Return one dimension a guest, one cell a room, and a row for each two guests in one room."""
    pairs = [(one, two) for one in range(guests) for two in range(one)]
    rows = [
        [1 << room if place in pair else whole(rooms) for place in range(guests)]
        for pair in pairs
        for room in range(rooms)
    ]
    return [rooms] * guests, [[row[place] for row in rows] for place in range(guests)]


@pytest.mark.parametrize("rooms", [2, 3, 4, 5])
def test_one_guest_too_many_means_that_two_share_a_room(rooms):
    for guests, shared in ((rooms + 1, True), (rooms, False)):
        sizes, sides = crowded(guests, rooms)
        rows = whole(len(sides[0]))
        columns = columns_of(masks_of(sides, sizes))
        found = Search(sides, 10**6).settle(columns, rows)
        assert isinstance(found, int) == shared
        if not shared:
            assert sorted(found.values()) == list(range(rooms))


def beside(one, other):
    """Return two sets of rows side by side, neither naming the dimensions of the other."""
    sizes = one[0] + other[0]
    counts = len(one[1][0]), len(other[1][0])
    sides = [[*side, *[whole(size)] * counts[1]] for size, side in zip(*one, strict=True)]
    return sizes, sides + [
        [*[whole(size)] * counts[0], *side] for size, side in zip(*other, strict=True)
    ]


def test_parts_that_share_no_row_cost_as_much_as_each_by_itself():
    roomy, tight = crowded(6, 6), crowded(6, 5)
    found, spent = [], []
    for sizes, sides in (roomy, tight, beside(roomy, tight), beside(tight, roomy)):
        search = Search(sides, 10**6)
        columns = columns_of(masks_of(sides, sizes))
        found.append(search.settle(columns, whole(len(sides[0]))))
        spent.append(search.spent)
    assert [isinstance(one, int) for one in found] == [False, True, True, True]
    assert max(spent[2:]) <= spent[0] + spent[1]


def test_a_search_beyond_its_allowance_refuses_and_is_not_charged_for_more():
    sizes, sides = crowded(7, 6)
    rows = whole(len(sides[0]))
    columns = columns_of(masks_of(sides, sizes))
    with pytest.raises(TooTangledError):
        Search(sides, 1_000).settle(columns, rows)
    purse = Purse(total=1_500, share=1_000)
    assert purse.ask(sides, columns, rows) is None
    assert purse.left < 500
    assert purse.ask(sides, columns, rows) is None
    assert purse.left == 0
