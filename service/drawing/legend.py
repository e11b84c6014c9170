"""The legend: a sample and its words for each sign that occurs, and for no other."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from service.drawing.bands import lap_paths
from service.drawing.block import Block
from service.drawing.lettering import wrapped
from service.drawing.marks import arrow_path, diamond, ring, square, start_arrow, tab_flag
from service.drawing.svg import group, num, path, trail, words

ZONE = "zone "
"""What the key of a zone's sign begins with; zones have names of their own."""
COLUMN_PX = 280.0
_SAMPLE_PX = 46.0
_ROW_PX = 26.0
_HEAD_PX = 36.0


def legend_block(told: Mapping[str, str], zones: Sequence[str], columns: int) -> Block:
    """Return the legend of the signs in `told`, each with its words, in up to `columns` columns."""
    rows = [_row(key, text, zones) for key, text in told.items()]
    total = sum(height for _, height in rows)
    columns = max(1, min(columns, len(rows)))
    body = [words("Legend", (0, 15), "head")]
    x, y, tallest = 0.0, _HEAD_PX, 0.0
    for drawn, height in rows:
        if (
            y > _HEAD_PX
            and y - _HEAD_PX + height / 2 > total / columns
            and x < (columns - 1) * COLUMN_PX
        ):
            x, y = x + COLUMN_PX, _HEAD_PX
        body.append(f'<g transform="translate({num(x)} {num(y)})">{"".join(drawn)}</g>')
        y += height
        tallest = max(tallest, y)
    return Block(width=columns * COLUMN_PX, height=tallest, body=[group("Legend", body)])


def _row(key: str, text: str, zones: Sequence[str]) -> tuple[list[str], float]:
    """Return a sample with its words beside it, from the row's upper edge, and its height."""
    lines = wrapped(text, COLUMN_PX - _SAMPLE_PX - 30)
    first = _ROW_PX / 2 + 4
    drawn = [*_sample(key, zones)]
    drawn += [words(line, (_SAMPLE_PX + 12, first + n * 15)) for n, line in enumerate(lines)]
    return drawn, _ROW_PX + (len(lines) - 1) * 15


def _sample(key: str, zones: Sequence[str]) -> Sequence[str]:
    if key.startswith(ZONE):
        fill = f"url(#zone{list(zones).index(key.removeprefix(ZONE)) % 3})"
        return [
            f'<rect class="zone" fill="{fill}" x="0" y="8" width="{num(_SAMPLE_PX)}" height="9"/>'
        ]
    return _SAMPLES[key]()


def _band(pattern: int) -> Callable[[], list[str]]:
    data = f"M0 13H{num(_SAMPLE_PX)}"

    def drawn() -> list[str]:
        parts = [f'<path class="p{pattern}" stroke-width="8" d="{data}"/>']
        if pattern:
            wide = "2.9" if pattern == 1 else "8"
            parts.append(f'<path class="c{pattern}" stroke-width="{wide}" d="{data}"/>')
        return parts

    return drawn


def _lap() -> list[str]:
    data = f"M14 13H{num(_SAMPLE_PX - 14)}"
    edge = f'<path class="p0" stroke-width="8" d="M0 13H{num(_SAMPLE_PX)}"/>'
    return [edge, *lap_paths(data, 1)]


def _tab() -> list[str]:
    return [_rail(19), path(trail(tab_flag((20, 19), (1, 0), (0, -1), 1), closed=True), "tab")]


def _rail(y: float) -> str:
    return f'<path class="rail" stroke-width="2" d="M0 {num(y)}H{num(_SAMPLE_PX)}"/>'


def _brace() -> list[str]:
    return [
        _rail(22),
        '<path class="p0" stroke-width="3.5" d="M8 5L34 22"/>',
        '<circle class="ink dot" cx="34" cy="22" r="3.2"/>',
    ]


_SAMPLES: dict[str, Callable[[], Sequence[str]]] = {
    "module": lambda: [path("M8 3h30v20h-30z", "module")],
    "area": lambda: [path("M8 3h30v20h-30z", "inner"), path("M8 3h30v20h-30z", "outline")],
    "rail": lambda: [_rail(13)],
    "p0": _band(0),
    "p1": _band(1),
    "p2": _band(2),
    "start": lambda: [path(arrow_path(start_arrow((10, -2), (1, 0), (0, 1), 1)), "outline")],
    "lap": _lap,
    "tab": _tab,
    "tab beside": _tab,
    "return": _brace,
    "outside": lambda: [path(square((23, 13), 1), "corner")],
    "inside": lambda: [path(diamond((23, 13), 1), "corner")],
    "penetration": lambda: [ring((20, 13), 1), '<circle class="ink" cx="36" cy="13" r="3"/>'],
    "open": lambda: [path(f"M0 13H{num(_SAMPLE_PX)}", "open")],
    "overlong": lambda: [path(f"M0 13H{num(_SAMPLE_PX)}", "over")],
}
