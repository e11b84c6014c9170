"""How the time of a proof and of a lookup grows with the cells and rows of a table.

Run by hand: `python -m tests.load.bench_proof`. Prints milliseconds; asserts nothing.
"""

from __future__ import annotations

import timeit
from functools import partial
from random import Random
from time import process_time

from gapwright.rulesets.proof import prove
from gapwright.rulesets.tables import Dimension, HitPolicy, Range, Row, Table, match

WIDE = 1_000
SIZES = ((25, 2, 100), (25, 3, 100), (100, 3, 100), (100, 4, 37), (200, 4, 37), (200, 6, 11))
"""Rows, dimensions, and cells of each dimension."""


def random_table(random: Random, rows: int, dimensions: int, cells: int) -> Table:
    """Return rows with a range on every dimension, and one that matches whatever is left."""
    cuts = sorted(random.sample(range(1, WIDE), cells - 1))
    names = [f"d{place}" for place in range(dimensions)]

    def ends() -> Range:
        least, below = sorted(random.sample(cuts, 2))
        return Range(least=least, below=below)

    drawn = [Row(id=f"r{number}", when={name: ends() for name in names}) for number in range(rows)]
    dimension = [Dimension(name=name) for name in names]
    return Table(
        name="bench",
        dimensions=tuple(dimension),
        rows=(*drawn, Row(id="rest")),
        policy=HitPolicy.FIRST,
    )


def main() -> None:
    """Print the times."""
    for rows, dimensions, cells in SIZES:
        table = random_table(Random(1), rows, dimensions, cells)
        proved = min(timeit.repeat(partial(prove, table), number=1, repeat=3, timer=process_time))
        inputs = {f"d{place}": WIDE // 2 for place in range(dimensions)}
        looked = min(timeit.repeat(partial(match, table, inputs), number=1_000, repeat=3)) / 1_000
        print(
            f"{rows} rows, up to {cells**dimensions:,} cells: "
            f"proof {1e3 * proved:.1f} ms, lookup {1e3 * looked:.4f} ms"
        )


if __name__ == "__main__":
    main()
