"""Names of the loops and sides of an outline."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from gapwright.calc.outline import Loop, Outline, Side


def named_loops(outline: Outline) -> list[tuple[str, Loop]]:
    """Return each loop with its name: A, B, ... for arrays, and A-hole-1 for their holes."""
    named = []
    for array in outline.arrays:
        letter = _letter(array.index)
        named.append((letter, array.outer))
        named += [(f"{letter}-hole-{n}", hole) for n, hole in enumerate(array.holes, 1)]
    return named


def side_names(name: str, loop: Loop) -> list[str]:
    """Return the names of the sides of a loop by facing: A-eave, A-hole-1-eave.

    If several sides face the same way, they are numbered in order: A-left-1, A-left-2.
    """
    total = Counter(side.facing for side in loop.sides)
    seen: Counter[str] = Counter()
    names = []
    for side in loop.sides:
        seen[side.facing] += 1
        number = f"-{seen[side.facing]}" if total[side.facing] > 1 else ""
        names.append(f"{name}-{side.facing}{number}")
    return names


def named_sides(outline: Outline) -> Iterator[tuple[str, Side]]:
    """Yield all sides of an outline with their names."""
    for name, loop in named_loops(outline):
        yield from zip(side_names(name, loop), loop.sides, strict=True)


def _letter(index: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name
