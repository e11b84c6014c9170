"""How long a whole layout takes, as a ratio to shapely's union of the same boxes in the same run.

Run by hand from the top: python -m tests.load.bench_layout. The layout is the outline, rails,
runs, pieces, marks, cut plan and counts. "plain" is the union of the boxes as they are, which
leaves every gap open; "grown" that of the boxes grown by half the join gap, as a program must
that wants the arrays from it. Growth is the time a module takes as against the size before.
Below them the spread of the ratio over plain grids of 8 to 60 modules: how near a layout comes
to the fewest pieces differs from one to the next, and with it the work.
Rounds alternate, so that a machine that slows down slows both; the shortest of each counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random
from statistics import median
from time import perf_counter

import shapely

from service.calc.layout.counts import counts_of, plan_cuts
from service.calc.layout.lay import lay_out, outline_plane
from service.calc.layout.plane import InferredRails, Plane
from service.calc.outline import Module
from tests.unit.make import baseline

IN = 25_400_000
WIDE, HIGH, GAP = 40 * IN, 66 * IN, IN // 2
SIZES = (10, 40, 100, 400, 2_000, 10_000, 20_000)
ARRAYS = (20, 200, 500, 2_000)


def grid(rows: int, columns: int, x: int = 0, y: int = 0) -> list[Module]:
    """Return a plain grid of modules, half an inch apart."""
    return [
        Module(
            x_nm=x + column * (WIDE + GAP),
            y_nm=y + row * (HIGH + GAP),
            width_nm=WIDE,
            height_nm=HIGH,
        )
        for row in range(rows)
        for column in range(columns)
    ]


def one(count: int) -> list[Module]:
    """Return one array of about so many modules, wider than tall."""
    rows = max(1, round((count / 2.4) ** 0.5))
    return grid(rows, max(1, round(count / rows)))


def apart(count: int, *, alike: bool) -> list[Module]:
    """Return so many arrays of two rows, well apart; unless alike, of several sizes."""
    rng, across = Random(count), max(1, round(count**0.5))
    return [
        module
        for at in range(count)
        for module in grid(
            2 if alike else rng.randint(1, 3),
            5 if alike else rng.randint(2, 9),
            at % across * 10 * (WIDE + 4 * GAP),
            at // across * 4 * HIGH,
        )
    ]


def plane(modules: list[Module]) -> Plane:
    """Return a roof plane with those modules and inferred rails."""
    return Plane(
        name="",
        modules=modules,
        drawn=(),
        rails=InferredRails(),
        penetrations=(),
        edges={},
        facings={},
    )


def jobs() -> Iterator[tuple[str, list[Module]]]:
    """Yield kinds of job, each from small to large."""
    for count in SIZES:
        yield "one grid", one(count)
    for count in ARRAYS:
        yield "arrays alike", apart(count, alike=True)
    for count in ARRAYS[:-1]:
        yield "arrays of several sizes", apart(count, alike=False)


def laid(whole: Plane) -> int:
    """Lay a plane out and return how many pieces that takes."""
    rules = baseline()
    found = lay_out(whole, outline_plane(whole, rules), rules)
    plan_cuts([found], None, rules)
    return counts_of([found], rules).pieces.value


def boxes(modules: list[Module], by: int) -> list[shapely.Polygon]:
    """Return the modules as boxes grown by a length on every side."""
    return [
        shapely.box(
            each.x_nm - by,
            each.y_nm - by,
            each.x_nm + each.width_nm + by,
            each.y_nm + each.height_nm + by,
        )
        for each in modules
    ]


def shortest(works: list[Callable[[], object]], rounds: int) -> list[float]:
    """Return the shortest seconds of each of several works, done in turn."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for at, work in enumerate(works):
            started = perf_counter()
            work()
            best[at] = min(best[at], perf_counter() - started)
    return best


def main() -> None:
    """Print the ratios and the growth."""
    half = baseline().values.join_gap // 2
    before: dict[str, float] = {}
    print(
        f"{'job':26}{'modules':>8}{'pieces':>8}{'ms':>9}{'/ plain':>9}{'/ grown':>9}{'growth':>8}"
    )
    for name, modules in jobs():
        whole, plain, grown = plane(modules), boxes(modules, 0), boxes(modules, half)
        times = shortest(
            [
                lambda whole=whole: laid(whole),
                lambda plain=plain: shapely.union_all(plain),
                lambda grown=grown: shapely.union_all(grown),
            ],
            max(2, min(9, 2_000 // len(modules))),
        )
        each = times[0] / len(modules)
        growth = each / before.get(name, each)
        before[name] = each
        print(
            f"{name:26}{len(modules):>8}{laid(whole):>8}{times[0] * 1e3:>9.1f}"
            f"{times[0] / times[1]:>9.2f}{times[0] / times[2]:>9.2f}{growth:>8.2f}"
        )


def small_grids() -> None:
    """Print the spread over plain grids of usual sizes."""
    shapes = [(rows, columns) for rows in range(1, 6) for columns in range(2, 15)]
    ratios = []
    for rows, columns in shapes:
        if not 8 <= rows * columns <= 60:
            continue
        modules = grid(rows, columns)
        whole, plain = plane(modules), boxes(modules, 0)
        taken, union = shortest(
            [
                lambda whole=whole: laid(whole),
                lambda plain=plain: shapely.union_all(plain),
            ],
            40,
        )
        ratios.append((taken / union, taken * 1e3, rows, columns))
    print(f"\n{len(ratios)} grids of 8 to 60 modules, ratio to plain and ms:")
    print(f"half below {median(ratio for ratio, *_ in ratios):.2f}; the most:")
    for ratio, taken, rows, columns in sorted(ratios, reverse=True)[:5]:
        print(f"{rows} rows of {columns:<3}{ratio:6.2f}{taken:7.2f} ms")


if __name__ == "__main__":
    main()
    small_grids()
