"""How the work of a proof grows with the rows and dimensions of a table.

Run by hand: `python tests/load/bench_proof.py`. Prints ratios to the smallest table of each kind,
processor time and counted work, and how a lookup grows; asserts nothing.
"""

from __future__ import annotations

import timeit
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from random import Random
from time import process_time

from service.rulesets.proof.proof import prove
from service.rulesets.tables.lookup import CompiledTable, compile_table, match
from service.rulesets.tables.model import Choice, Condition, HitPolicy, Range, Row, Span, Table

WIDE = 1_000
ROWS = (25, 50, 100, 200, 400)
DIMENSIONS = (2, 4, 6, 8, 10)

Ends = tuple[int, int]
Maker = Callable[[Random, int, int], CompiledTable]


def parted(random: Random, rows: int, dimensions: int, grow: int = 0) -> list[list[Ends]]:
    """Return boxes made by cutting boxes in two until there are so many, then grown."""
    boxes = [[(0, WIDE)] * dimensions]
    while len(boxes) < rows:
        box = boxes.pop(random.randrange(len(boxes)))
        place = random.randrange(dimensions)
        least, below = box[place]
        cut = random.randint(least, below)
        halves = [(least, cut), (cut, below)]
        boxes += [[*box[:place], half, *box[place + 1 :]] for half in halves if half[0] < half[1]]
    random.shuffle(boxes)
    return [
        [
            (max(0, a - random.randint(0, grow)), min(WIDE, b + random.randint(0, grow)))
            for a, b in box
        ]
        for box in boxes
    ]


def spans(boxes: list[list[Ends]], policy: HitPolicy) -> CompiledTable:
    """Return a table of spans with a row for each box."""
    rows = tuple(
        Row(
            id=f"r{number}",
            when={
                f"d{place}": (Range(least=least, below=below),)
                for place, (least, below) in enumerate(box)
                if (least, below) != (0, WIDE)
            },
        )
        for number, box in enumerate(boxes)
    )
    dimensions = tuple(
        Span(name=f"d{place}", least=0, below=WIDE) for place in range(len(boxes[0]))
    )
    return compile_table(Table(name="bench", dimensions=dimensions, rows=rows, policy=policy))


def partition(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return rows that part the space without rest."""
    return spans(parted(random, rows, dimensions), HitPolicy.UNIQUE)


def grown_partition(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return rows that cover the space and overlap at their edges."""
    return spans(parted(random, rows, dimensions, grow=20), HitPolicy.FIRST)


def one_missing(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return a grown partition of which one row is lost."""
    return spans(parted(random, rows + 1, dimensions, grow=20)[1:], HitPolicy.FIRST)


def random_ranges(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return rows with a range on every dimension, all thresholds different."""
    boxes = [
        [tuple(sorted(random.sample(range(WIDE + 1), 2))) for _ in range(dimensions)]
        for _ in range(rows)
    ]
    return spans([[(a, b) for a, b in box] for box in boxes], HitPolicy.FIRST)


def half_lines(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return rows with a limit, from below or above, on up to four dimensions."""
    boxes = []
    for _ in range(rows):
        box = [(0, WIDE)] * dimensions
        for place in random.sample(range(dimensions), min(4, dimensions)):
            cut = random.randrange(1, WIDE)
            box[place] = random.choice([(0, cut), (cut, WIDE)])
        boxes.append(box)
    return spans(boxes, HitPolicy.FIRST)


def option_sets(random: Random, rows: int, dimensions: int) -> CompiledTable:
    """Return rows with a scattered half of six options on up to four dimensions."""
    options = tuple("abcdef")

    def condition() -> Condition:
        return frozenset(random.sample(options, 3))

    drawn = tuple(
        Row(
            id=f"r{number}",
            when={
                f"d{place}": condition()
                for place in random.sample(range(dimensions), min(4, dimensions))
            },
        )
        for number in range(rows)
    )
    choices = tuple(Choice(name=f"d{place}", options=options) for place in range(dimensions))
    table = Table(name="bench", dimensions=choices, rows=drawn, policy=HitPolicy.FIRST)
    return compile_table(table)


MAKERS: tuple[Maker, ...] = (
    partition,
    grown_partition,
    one_missing,
    random_ranges,
    half_lines,
    option_sets,
)


def seconds(make: Maker, rows: int, dimensions: int) -> tuple[float, int]:
    """Return the processor time of a proof, mean of two tables, and how many were undecided."""
    spent, undecided = 0.0, 0
    for seed in range(2):
        table = make(Random(seed), rows, dimensions)
        start = process_time()
        undecided += bool(prove(table).undecided)
        spent += process_time() - start
    return spent / 2, undecided


def ratios(sizes: tuple[int, ...], measured: list[tuple[float, int]]) -> str:
    """Return each size with its time as a multiple of the first, and the step from the last."""
    first = measured[0][0]
    steps = [1.0, *(after[0] / before[0] for before, after in pairwise(measured))]
    return "   ".join(
        f"{size}: x{spent / first:.1f} (step x{step:.1f}{', undecided' * bool(undecided)})"
        for size, (spent, undecided), step in zip(sizes, measured, steps, strict=True)
    )


def lookups() -> str:
    """Return how one lookup grows with the rows, against copying its inputs."""
    told = []
    for rows in ROWS:
        table = partition(Random(1), rows, 5)
        inputs = {f"d{place}": 500 for place in range(5)}
        looked = min(timeit.repeat(partial(match, table, inputs), number=2_000, repeat=5))
        copied = min(timeit.repeat(partial(dict, inputs), number=2_000, repeat=5))
        told.append(f"{rows}: x{looked / copied:.0f}")
    return "   ".join(told)


def main() -> None:
    """Print the ratios."""
    print("time of a proof by rows, 8 dimensions")
    for make in MAKERS:
        measured = [seconds(make, rows, 8) for rows in ROWS]
        print(f"  {make.__name__:16} {ratios(ROWS, measured)}")
    print("time of a proof by dimensions, 100 rows")
    for make in MAKERS:
        measured = [seconds(make, 100, dimensions) for dimensions in DIMENSIONS]
        print(f"  {make.__name__:16} {ratios(DIMENSIONS, measured)}")
    print("one lookup by rows, 5 dimensions, in copies of its inputs")
    print(f"  {lookups()}")


if __name__ == "__main__":
    main()
