"""Roof planes that benchmarks and load tests lay out: modules, inferred rails, nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from gapwright.calc.layout.plane import InferredRails, Plane
from gapwright.calc.outline import Module

IN = 25_400_000
WIDE, HIGH, GAP = 40 * IN, 66 * IN, IN // 2


def plane(modules: Sequence[Module]) -> Plane:
    """Return a roof plane with those modules and inferred rails."""
    return Plane(
        name="",
        modules=modules,
        drawn=(),
        rails=InferredRails(),
        penetrations=(),
        sides={},
        facings={},
    )


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


def separate_arrays(count: int, *, alike: bool) -> list[Module]:
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
