"""How long an outline takes, as a ratio to shapely's union of the same boxes in the same run.

Run by hand from the top: python -m tests.load.bench_outline. Below 1 is quicker than the union.
The union closes no gaps, finds no overlaps and builds no corners, edges or notes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from random import Random
from time import perf_counter

import shapely
from gapwright.calc.outline import GapRules, Module, outline_of

COUNTS = (10, 100, 400, 2_000, 20_000)
WIDTH_NM, HEIGHT_NM, GAP_NM = 992_000_000, 1_640_000_000, 12_700_000
RULES = GapRules(max_module_gap_nm=50_800_000)


def layouts(count: int) -> Iterator[tuple[str, list[Module]]]:
    rng = Random(count)
    yield "grid, butted", modules(count, 0, lambda _row: 0)
    yield "grid, gaps", modules(count, GAP_NM, lambda _row: 0)
    yield "staggered, butted", modules(count, 0, lambda row: row * 123_456_789)
    yield "staggered, gaps", modules(count, GAP_NM, lambda row: row * 123_456_789)
    full = modules(count, GAP_NM, lambda _row: 0)
    yield "grid, a fifth missing", [module for module in full if rng.random() > 0.2] or full
    yield "all apart", modules(count, 4 * GAP_NM + 1, lambda _row: 0)
    yield "each a little off", [shifted(module, rng) for module in full]


def modules(count: int, gap_nm: int, offset_nm: Callable[[int], int]) -> list[Module]:
    columns = max(1, round(1.4 * count**0.5))
    return [
        Module(
            x_nm=i % columns * (WIDTH_NM + gap_nm) + offset_nm(i // columns),
            y_nm=i // columns * (HEIGHT_NM + gap_nm),
            width_nm=WIDTH_NM,
            height_nm=HEIGHT_NM,
        )
        for i in range(count)
    ]


def shifted(module: Module, rng: Random) -> Module:
    return Module(
        x_nm=module.x_nm + rng.randrange(5_000_000),
        y_nm=module.y_nm + rng.randrange(5_000_000),
        width_nm=module.width_nm,
        height_nm=module.height_nm,
    )


def boxes(plane: list[Module]) -> list[shapely.Polygon]:
    return [
        shapely.box(each.x_nm, each.y_nm, each.x_nm + each.width_nm, each.y_nm + each.height_nm)
        for each in plane
    ]


def best_s(work: Callable[[], object], times: int) -> float:
    assumed = []
    for _ in range(times):
        start = perf_counter()
        work()
        assumed.append(perf_counter() - start)
    return min(assumed)


def main() -> None:
    print(f"{'layout':24}{'modules':>8}{'outline ms':>12}{'union ms':>10}{'ratio':>8}")
    for count in COUNTS:
        for name, plane in layouts(count):
            times = max(1, min(9, 2_000 // count))
            ours = best_s(partial(outline_of, plane, rules=RULES), times)
            theirs = best_s(partial(shapely.union_all, boxes(plane)), times)
            print(
                f"{name:24}{len(plane):>8}{ours * 1e3:>12.2f}{theirs * 1e3:>10.2f}"
                f"{ours / theirs:>8.2f}"
            )


if __name__ == "__main__":
    main()
