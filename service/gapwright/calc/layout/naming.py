"""Names of the loops and sides of an outline."""

from __future__ import annotations

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


def side_name(letter: str, side: Side, loop: Loop) -> str:
    """Return the name of a side: A1, or A-hole-1-1 in a hole."""
    return f"{letter}{side.index + 1}" if loop.kind == "outer" else f"{letter}-{side.index + 1}"


def named_sides(outline: Outline) -> Iterator[tuple[str, Side]]:
    """Yield all sides of an outline with their names."""
    for letter, loop in named_loops(outline):
        for side in loop.sides:
            yield side_name(letter, side, loop), side


def _letter(index: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name
