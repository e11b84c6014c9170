"""Pieces round real arrays against the mixed-integer model: rails, penetrations, zones, open edges.

The runs are those of whole layouts on whole inches, under the shipped rules but for a coarser
tape, so that the model stays small. By hand, for as many arrays as wanted:
python tests/outside/libraries/test_loops_milp.py 300
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

import msgspec
import pytest

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[3]))

from service.calc.layout.lay import lay_out, outline_plane, piece_rules
from service.calc.layout.plane import EdgeFacts, Plane, Rail
from service.calc.layout.runs import PlacedRun
from service.calc.outline import Module
from service.calc.pieces import Run, lay_pieces
from tests.outside.libraries.test_pieces_milp import Model, Statement, measured
from tests.unit.make import baseline
from tests.unit.measures import IN

WIDE, TALL, GRID = 40, 66, 12


def random_plane(rng: random.Random) -> Plane:
    """An array of a few modules with all that can be told of it, on whole inches."""
    columns, rows = rng.randint(1, 4), rng.randint(1, 2)
    cells = [(i, j) for i in range(columns) for j in range(rows) if rng.random() < 0.85] or [(0, 0)]
    across, up = columns * WIDE, rows * TALL
    heights = rng.sample(range(4, up - 3), rng.randint(1, 2 * rows))
    spots = [(rng.randint(0, across), rng.choice([0, up])) for _ in range(rng.randint(0, 4))]
    sides = rng.sample(["eave", "ridge", "left", "right"], rng.randint(0, 4))
    return Plane(
        name="",
        modules=[
            Module(x_nm=i * WIDE * IN, y_nm=j * TALL * IN, width_nm=WIDE * IN, height_nm=TALL * IN)
            for i, j in cells
        ],
        drawn=(),
        rails=[
            Rail(
                start=(rng.choice([-3, -3, 30]) * IN, y * IN),
                end=((across + rng.choice([3, 3, -30])) * IN, y * IN),
            )
            for y in heights
        ],
        penetrations=[(x * IN, y * IN) for x, y in spots],
        edges={},
        facings={
            side: EdgeFacts(
                open=rng.choice([None, None, None, True]),
                zone=rng.choice([None, "exposed", "visible"]),
            )
            for side in sides
        },
    )


def in_inches(value: object) -> object:
    """Return a part of a run with its lengths in inches; they are whole ones."""
    if isinstance(value, int) and not isinstance(value, bool):
        whole, rest = divmod(value, IN)
        assert rest == 0
        return whole
    if isinstance(value, (list, tuple)):
        return [in_inches(each) for each in value]
    if isinstance(value, dict):
        return {name: in_inches(each) for name, each in value.items()}
    return value


def compare(placed: PlacedRun) -> str:
    """Lay one run out both ways; return what it was."""
    run = msgspec.convert(in_inches(msgspec.to_builtins(placed.run)), Run)
    shipped = piece_rules(baseline().values)
    rules = msgspec.structs.replace(
        shipped,
        piece_nm=shipped.piece_nm // IN,
        least_piece_nm=shipped.least_piece_nm // IN,
        grid_nm=GRID,
        either_way=False,
    )
    told = Statement(run, rules)
    wanted = Model(told).solve()
    layout = lay_pieces(run, rules)
    kind = "loop" if run.closed else "open"
    if layout.conflicts or wanted is None:
        assert layout.conflicts
        assert wanted is None
        return f"{kind} without a place for a lap"
    assert measured(told, layout) == wanted
    return f"{kind}{' with a penetration' if placed.penetrations_nm else ''}"


def compare_all(seed: int) -> set[str]:
    """Compare every run of one random plane; return what they were."""
    plane = random_plane(random.Random(seed))
    laid = lay_out(plane, outline_plane(plane, baseline()), baseline())
    return {compare(run.placed) for run in laid.runs}


@pytest.mark.parametrize("block", range(3))
def test_pieces_round_arrays_cost_what_the_mixed_integer_optimum_costs(block: int) -> None:
    kinds = {kind for seed in range(25 * block, 25 * block + 25) for kind in compare_all(seed)}
    assert {"loop with a penetration", "open with a penetration"} <= kinds


if __name__ == "__main__":
    tally: dict[str, int] = {}
    for number in range(int(sys.argv[1])):
        for found in compare_all(1_000 + number):
            tally[found] = tally.get(found, 0) + 1
    print(tally)
