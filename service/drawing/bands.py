"""The channel on the page: each piece a band with its own colour and pattern, laps over it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.drawing.lines import beside, segments
from service.drawing.room import Room, along, round_about
from service.drawing.sheet import Sheet
from service.drawing.svg import Dot, group, num, path, trail
from service.drawing.traced import TracedRun, stretch

_LEAST_LAP_PX = 5.0
OVER_PX = 11.0
"""How far outside the edge an overlong span is marked."""


def band_px(sheet: Sheet) -> float:
    """Return how wide the channel is drawn: a sign that can be seen, not its true width."""
    return 8 * sheet.sign


def draw_bands(runs: Sequence[TracedRun], sheet: Sheet, room: Room) -> list[str]:
    """Return returns, pieces and laps, lowest first, and take their room."""
    wide = band_px(sheet)
    laps = [lap for run in runs for lap in _laps(run, sheet)]
    for run in runs:
        for piece in run.pieces:
            for part in segments(piece.line):
                room.take(along(*part, wide / 2 + 1))
            for brace in piece.braces:
                room.take([*along(*brace, 3), round_about(brace[1], 5)])
    for lap in laps:
        for part in segments(lap):
            room.take(along(*part, 7.5 * sheet.sign))
    return [
        group("Returns", list(_braces(runs, sheet.sign))),
        *(_run(run, wide) for run in runs),
        _all_laps(laps, sheet.sign),
    ]


def laps_are_enlarged(runs: Sequence[TracedRun], sheet: Sheet) -> bool:
    """Return whether some lap is drawn longer than it is, to be seen."""
    least = _LEAST_LAP_PX / sheet.scale.px_per_nm
    return any(lap.lap_nm < least for run in runs for lap in run.run.layout.laps)


def _run(run: TracedRun, wide: float) -> str:
    """Return the pieces of a run: bands first, then what makes their patterns."""
    bands = [path(trail(piece.line), f"p{piece.pattern}", piece.title) for piece in run.pieces]
    double = "".join(trail(piece.line) for piece in run.pieces if piece.pattern == 1)
    ladder = "".join(trail(piece.line) for piece in run.pieces if piece.pattern == 2)
    body = [f'<g stroke-width="{num(wide)}">{"".join(bands)}</g>'] if bands else []
    if double:
        body.append(f'<path class="c1" stroke-width="{num(wide * 0.36)}" d="{double}"/>')
    if ladder:
        body.append(f'<path class="c2" stroke-width="{num(wide)}" d="{ladder}"/>')
    return group(f"Run {run.run.placed.name}, {len(run.pieces)} pieces", body)


def _braces(runs: Sequence[TracedRun], size: float) -> Iterator[str]:
    for run in runs:
        for piece in run.pieces:
            for brace in piece.braces:
                foot = brace[1]
                line = path(trail(brace), f"p{piece.pattern}", f"Return of {piece.name}")
                yield f'<g stroke-width="{num(3.5 * size)}">{line}</g>'
                yield f'<circle class="ink dot" cx="{num(foot[0])}" cy="{num(foot[1])}" r="3"/>'


def _all_laps(laps: Sequence[Sequence[Dot]], size: float) -> str:
    if not laps:
        return ""
    data = "".join(trail(lap) for lap in laps)
    return group(f"{len(laps)} laps", lap_paths(data, size))


def lap_paths(data: str, size: float) -> list[str]:
    """Return the sign of laps along a path: strokes across it on a ground of paper."""
    return [
        f'<path class="under" stroke-width="{num(15 * size)}" d="{data}"/>',
        f'<path class="lap" stroke-width="{num(13 * size)}" d="{data}"/>',
    ]


def _laps(run: TracedRun, sheet: Sheet) -> Iterator[Sequence[Dot]]:
    """Yield each lap on the page, made longer about its middle where it could not be seen."""
    least = round(_LEAST_LAP_PX / sheet.scale.px_per_nm)
    length = run.run.placed.run.length_nm
    for lap in run.run.layout.laps:
        more = max(least - lap.lap_nm, 0)
        start = lap.start_nm - more // 2
        if not run.run.placed.run.closed:
            start = min(max(start, 0), length)
        yield stretch(run.run, start, min(lap.lap_nm + more, length), sheet)


def draw_overlong(runs: Sequence[TracedRun], sheet: Sheet, room: Room) -> list[str]:
    """Return the stretches that lie beyond the reach of a fixing."""
    spans: list[str] = []
    for run in runs:
        for line in overlong_lines(run, sheet):
            mark = beside(line, 1, OVER_PX)
            spans.append(trail(mark))
            for part in segments(mark):
                room.take(along(*part, 3))
    return [group(f"{len(spans)} overlong spans", [path("".join(spans), "over")] if spans else [])]


def overlong_lines(run: TracedRun, sheet: Sheet) -> Iterator[Sequence[Dot]]:
    """Yield the line of each stretch beyond the reach of a fixing."""
    for span in run.run.layout.overlong:
        yield stretch(run.run, span.start_nm, span.length_nm, sheet)
