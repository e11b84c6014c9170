"""Small random arrays with odd gaps, rails, penetrations and zones, the same for each seed."""

from __future__ import annotations

from random import Random
from typing import Any

SIDES = ((66, 40), (69, 41), (78, 39.5))
READINGS = ("4 1/2", "4", "6", "4 1/8", "3 1/4", "8", "10")


def random_layout(seed: int) -> dict[str, Any]:
    """Return a layout request of one or two blocks of modules."""
    rng = Random(seed)
    block, width, height = _block(rng)
    blocks = [block]
    if rng.random() < 0.7:
        gap = rng.choice((0.5, 1, 2.5, 4, 6, 10, 20))
        shift = rng.choice((0, 0.5, 5, 20, -10))
        x, y = (width + gap, shift) if rng.random() < 0.5 else (shift, height + gap)
        blocks.append({**_block(rng)[0], "x": _inches(x), "y": _inches(y)})
    request: dict[str, Any] = {"array": {"blocks": blocks}, **_clearance(rng)}
    if rng.random() < 0.5:
        request["penetrations"] = [
            {
                "x": _inches(rng.randint(-8, int(width) + 8)),
                "y": _inches(rng.choice((-6, -3, int(height) + 14, rng.randint(0, int(height))))),
            }
            for _ in range(rng.choice((1, 2, 8)))
        ]
    if rng.random() < 0.6:
        request["rails"] = _rails(rng, int(width), int(height))
    if facings := list(_facings(rng)):
        request["facings"] = facings
    if rng.random() < 0.3:
        clearance = _clearance(rng)
        request["sides"] = [{"side": side, **clearance} for side in ("A-right", "A-right-1")]
    return request


def _inches(number: float) -> str:
    return f"{number} in"


def _clearance(rng: Random) -> dict[str, Any]:
    return {"clearance": {"readings": [f"{rng.choice(READINGS)} in"]}}


def _block(rng: Random) -> tuple[dict[str, Any], float, float]:
    """Return a block of modules, and how wide and high it is without its gaps [in]."""
    long, short = rng.choice(SIDES)
    rows, columns = rng.choice((1, 1, 2)), rng.choice((1, 2, 2, 3, 4))
    orientation = rng.choice(("portrait", "landscape"))
    wide, high = (short, long) if orientation == "portrait" else (long, short)
    block = {
        "rows": rows,
        "columns": columns,
        "long_side": _inches(long),
        "short_side": _inches(short),
        "column_gap": rng.choice(("1/2 in", "1 in", "1 1/2 in")),
        "row_gap": rng.choice(("1/2 in", "1 in")),
        "orientation": orientation,
    }
    return block, columns * wide, rows * high


def _rails(rng: Random, width: int, height: int) -> dict[str, Any]:
    kind = rng.choice(("per_row", "direction", "inset", "segments"))
    if kind != "segments":
        return {
            kind: {"per_row": rng.choice((1, 2, 3)), "direction": "slope", "inset": "30 %"}[kind]
        }
    segments = []
    for _ in range(rng.choice((1, 3, 5))):
        start = rng.randint(-4, width - 20)
        end = rng.randint(start + 10, width + 4)
        y = _inches(rng.randint(3, height - 3))
        segments.append(
            {"start": {"x": _inches(start), "y": y}, "end": {"x": _inches(end), "y": y}}
        )
    return {"segments": segments}


def _facings(rng: Random) -> Any:
    for facing in ("eave", "ridge", "left", "right"):
        told: dict[str, Any] = {}
        if rng.random() < 0.2:
            told["zone"] = rng.choice(("exposed", "visible"))
        if rng.random() < 0.1:
            told["open"] = True
        elif rng.random() < 0.3:
            told |= _clearance(rng)
        if told:
            yield {"facing": facing, **told}
