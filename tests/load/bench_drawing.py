"""How long a drawing takes, as a ratio to the layout of the same job in the same run.

Run by hand from the top: python -m tests.load.bench_drawing. Below 1 is quicker than the layout,
which outlines the modules and lays the pieces. Rounds alternate, so that a machine that slows
down slows both; the shortest time of each counts.
"""

from __future__ import annotations

from time import perf_counter

from gapwright.calc.layout.lay import lay_out, outline_plane
from gapwright.calc.layout.strips import Strip
from gapwright.calc.sizing import size
from gapwright.drawing import draw_planes
from gapwright.rulesets.figures import Figure

from tests.load.planes import grid, plane
from tests.unit.make import baseline

ROUNDS = 7
GRIDS = ((1, 3), (3, 10), (15, 20), (20, 20), (40, 50))
IN = 25_400_000


def timed(rows: int, columns: int) -> tuple[float, float, int]:
    """Return the shortest seconds of a layout and of its drawing, and the drawing's bytes."""
    rules, whole = baseline(), plane(grid(rows, columns))
    strip = Strip(name="", sizing=size(Figure(((9 * IN // 2,),)), rules), readings=())
    layouts, drawings, text = [], [], ""
    for _ in range(ROUNDS):
        started = perf_counter()
        laid = lay_out(whole, outline_plane(whole, rules), rules)
        between = perf_counter()
        text = draw_planes([laid], [strip], rules, "imperial")
        layouts.append(between - started)
        drawings.append(perf_counter() - between)
    return min(layouts), min(drawings), len(text.encode())


def main() -> None:
    """Print the ratios."""
    for rows, columns in GRIDS:
        layout, drawing, length = timed(rows, columns)
        print(
            f"{rows * columns:5} modules: drawing / layout {drawing / layout:.2f}"
            f"  (layout {layout * 1e3:.1f} ms, drawing {drawing * 1e3:.1f} ms, {length} bytes)"
        )


if __name__ == "__main__":
    main()
