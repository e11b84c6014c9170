"""How long pieces and whole layouts take, each array different, and what they come to.

Run by hand from the top: python -m tests.load.bench_pieces. Times are of the process [ms].
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from statistics import median
from time import process_time

import msgspec
from gapwright.calc.layout.lay import LaidPlane, lay_out, outline_plane, piece_rules
from gapwright.calc.layout.plane import Plane
from gapwright.calc.outline import Module
from gapwright.calc.pieces import lay_pieces
from gapwright.rulesets.ruleset import RuleSet

from tests.load.planes import plane
from tests.unit.make import baseline

IN = 25_400_000
SIZES = ((10, 40), (40, 40), (100, 20), (400, 8), (2_000, 3), (20_000, 1))


def weighted() -> RuleSet:
    """The rules with weights for custom cuts and returns, and room in the overlap."""
    rules = baseline()
    more = {"cut_weight": 4 * IN, "return_weight": 12 * IN, "max_overlap_length": 18 * IN}
    zones = {
        name: msgspec.structs.replace(zone, values=msgspec.structs.replace(zone.values, **more))
        for name, zone in rules.zones.items()
    }
    values = msgspec.structs.replace(rules.values, **more)
    return msgspec.structs.replace(rules, values=values, zones=zones)


def array(count: int, chance: random.Random) -> Plane:
    """A grid of about so many modules of a size of its own, some left out at its ridge."""
    rows = max(round((count * chance.uniform(0.3, 1.2)) ** 0.5), 1)
    columns = max(round(count / rows), 1)
    wide, tall = (round(chance.uniform(low, low + 6) * IN) for low in (39, 65))
    left_out = chance.randrange(columns)
    modules = [
        Module(x_nm=column * wide, y_nm=row * tall, width_nm=wide, height_nm=tall)
        for column in range(columns)
        for row in range(rows - (rows > 1 and column < left_out))
    ]
    return plane(modules)


def laid(plane: Plane, rules: RuleSet) -> LaidPlane:
    return lay_out(plane, outline_plane(plane, rules), rules)


def told(assumed: Sequence[float]) -> str:
    return f"{median(assumed) * 1e3:8.1f} {max(assumed) * 1e3:8.1f}"


def times() -> None:
    chance = random.Random(11)
    print(
        f"{'modules':>8} {'rules':>9} {'layout: median, worst':>22} {'pieces: median, worst':>22}"
    )
    laid(array(10, chance), baseline())
    for count, times_over in SIZES:
        for name, rules in (("baseline", baseline()), ("weighted", weighted())):
            whole, pieces = [], []
            for _ in range(times_over):
                plane = array(count, chance)
                begun = process_time()
                found = laid(plane, rules)
                whole.append(process_time() - begun)
                begun = process_time()
                for run in found.runs:
                    lay_pieces(run.placed.run, piece_rules(rules.values))
                pieces.append(process_time() - begun)
            print(f"{count:>8} {name:>9} {told(whole):>22} {told(pieces):>22}", flush=True)


def outcome(grids: int) -> None:
    for name, rules in (("baseline", baseline()), ("weighted", weighted())):
        chance, counts = random.Random(5), [0, 0, 0, 0, 0]
        for _ in range(grids):
            for run in laid(array(chance.randint(4, 60), chance), rules).runs:
                pieces = run.layout.pieces
                whole = sum(piece.cut_nm == rules.values.piece_length for piece in pieces)
                found = (1, whole, len(pieces) - whole, len(run.layout.returns), 0)
                counts = [a + b for a, b in zip(counts, found, strict=True)]
                counts[4] += run.layout.mesh_nm
        runs, *rest, mesh = counts
        each = "  ".join(f"{number / runs:6.2f}" for number in rest)
        print(
            f"{name}: {runs} runs; standard, cut, returns a run {each}; {mesh / runs / IN:.1f} in"
        )


if __name__ == "__main__":
    outcome(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
    times()
