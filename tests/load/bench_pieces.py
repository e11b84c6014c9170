"""How long a layout of pieces takes, as a ratio to a fixed stretch of whole-number arithmetic.

Run by hand from the top: python -m tests.load.bench_pieces. The yardstick is 2,000 rounds of
shifts and unions of 22,000-bit integers, timed in the same run. Times are of the process, the
least of several, so that other work on the machine counts little.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from time import process_time

import msgspec

from service.calc.pieces import KeepOff, PieceRules, Reach, Run, Zone, lay_pieces

IN = 25_400_000
RULES = PieceRules(piece_nm=120 * IN, grid_nm=IN, least_piece_nm=24 * IN)
SIZES = ((300, 120), (540, 200), (1_000, 300), (1_650, 600), (15_000, 5_000))


def loop(front: int, side: int) -> Run:
    """Round an array: tabs every 30 in on its sides, rails along its eave and ridge."""
    corners = [0, front, front + side, 2 * front + side]
    tabs = [corner + at for corner in (front, 2 * front + side) for at in range(15, side, 30)]
    length = 2 * (front + side) * IN
    return Run(
        length_nm=length,
        closed=True,
        zones=(Zone(start_nm=0, end_nm=length, lap_nm=3 * IN, span_nm=96 * IN),),
        tabs_nm=tuple(tab * IN for tab in tabs),
        reaches=(
            Reach(start_nm=4 * IN, end_nm=(front - 4) * IN, return_nm=20 * IN + IN // 64),
            Reach(
                start_nm=(front + side + 4) * IN,
                end_nm=(2 * front + side - 4) * IN,
                return_nm=24 * IN,
            ),
        ),
        keep_off=tuple(
            [KeepOff(at_nm=corner * IN, distance_nm=6 * IN) for corner in corners]
            + [KeepOff(at_nm=tab * IN, distance_nm=2 * IN) for tab in tabs]
        ),
    )


def zoned(run: Run, laps: tuple[int, ...]) -> Run:
    """The same loop with another lap on each quarter of it."""
    bounds = [run.length_nm * quarter // 4 for quarter in range(5)]
    return msgspec.structs.replace(
        run,
        zones=tuple(
            Zone(start_nm=low, end_nm=high, lap_nm=lap * IN, span_nm=96 * IN)
            for (low, high), lap in zip(pairwise(bounds), laps, strict=True)
        ),
    )


def jobs() -> Iterator[tuple[str, Run, PieceRules]]:
    millimetres = msgspec.structs.replace(RULES, grid_nm=10_000_000)
    either_way = msgspec.structs.replace(RULES, either_way=True)
    for front, side in SIZES:
        run = loop(front, side)
        name = f"{2 * (front + side):>6,} in"
        yield f"{name}, marks of 1 in", run, RULES
        yield f"{name}, marks of 10 mm", run, millimetres
        yield f"{name}, four laps", zoned(run, (6, 3, 4, 5)), RULES
        yield f"{name}, either way", run, either_way
        yield f"{name}, no rails", msgspec.structs.replace(run, reaches=()), RULES
        yield f"{name}, no tabs", msgspec.structs.replace(run, tabs_nm=()), RULES
        cut_open = msgspec.structs.replace(run, closed=False)
        yield f"{name}, open", cut_open, RULES


def least_time(work: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        begun = process_time()
        work()
        taken.append(process_time() - begun)
    return min(taken)


def yardstick() -> None:
    marks = (1 << 22_000) // 7
    for _ in range(2_000):
        moved = marks << 273 | marks
        marks &= moved


def main() -> None:
    for name, run, rules in jobs():
        times = 3 if run.length_nm > 10_000 * IN else 9
        unit = least_time(yardstick, times)
        taken = least_time(partial(lay_pieces, run, rules), times)
        pieces = len(lay_pieces(run, rules).pieces)
        print(f"{name:<28} {taken / unit:8.2f} yardsticks {taken * 1e3:8.1f} ms {pieces:>5} pieces")


if __name__ == "__main__":
    main()
