"""Laid-out roof planes that the tests of the drawing share."""

from __future__ import annotations

from gapwright.calc.layout.lay import LaidPlane, lay_out, outline_plane
from gapwright.calc.layout.plane import InferredRails, Plane, SideFacts
from gapwright.calc.layout.strips import Strip
from gapwright.calc.outline import Module
from gapwright.calc.sizing import Sizing, size
from gapwright.drawing import draw_planes
from gapwright.rulesets.figures import Figure

from tests.unit.make import baseline
from tests.unit.measures import IN, inches

WIDE, TALL, GAP = 40, 66, 1
"""The modules of these roofs, and the gap between them [in]."""


def grid(rows, columns, x=0, y=0, without=()):
    """Return a grid of modules from a lower left corner [in], some places left empty."""
    return [
        Module(
            x_nm=(x + column * (WIDE + GAP)) * IN,
            y_nm=(y + row * (TALL + GAP)) * IN,
            width_nm=WIDE * IN,
            height_nm=TALL * IN,
        )
        for row in range(rows)
        for column in range(columns)
        if (row, column) not in without
    ]


def laid(modules, **told) -> LaidPlane:
    plane = {
        "name": "",
        "drawn": (),
        "rails": InferredRails(),
        "penetrations": (),
        "sides": {},
        "facings": {},
    }
    whole = Plane(modules=modules, **(plane | told))
    return lay_out(whole, outline_plane(whole, baseline()), baseline())


def sizing(*readings) -> Sizing:
    return size(Figure((tuple(inches(each) for each in readings or ("4 1/2",)),)), baseline())


def drawn(plane: LaidPlane, system="imperial", found: Sizing | None = None) -> str:
    """Return the drawing of one plane with one strip."""
    strip = Strip(name="", sizing=found or sizing(), readings=())
    return draw_planes([plane], [strip], baseline(), system)


def notched() -> LaidPlane:
    """Return an array with a notch, a hole, a vent, an open edge and two zones."""
    without = {(0, 0), (0, 1), (3, 6), (3, 7), (1, 3), (1, 4), (2, 3)}
    return laid(
        grid(4, 8, without=without),
        name="west",
        penetrations=((115 * IN, 90 * IN), (-4 * IN, 150 * IN)),
        sides={"A-eave-1": SideFacts(zone="exposed"), "A-ridge-1": SideFacts(open=True)},
        facings={"eave": SideFacts(zone="visible")},
    )
