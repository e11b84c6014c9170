"""What stands in words beside a plan: what to look at, by number, and what is not named."""

from __future__ import annotations

from service.drawing.block import Block
from service.drawing.findings import sign
from service.drawing.lettering import LINE_PX, wrapped
from service.drawing.plan import Plan
from service.drawing.svg import group, words


def remarks_block(plan: Plan, width: float) -> Block:
    """Return the remarks on a plan, `width` wide; empty where there are none."""
    body: list[str] = []
    y = 0.0
    if plan.findings:
        body.append(words("To look at", (0, 15), "head"))
        y = 24
    for finding in plan.findings:
        body.append(sign((10, y + 12), finding.number))
        for line in wrapped(finding.text, width - 40):
            body.append(words(line, (28, y + 16)))
            y += LINE_PX
        y += 6
    for note in plan.notes:
        for line in wrapped(note, width):
            body.append(words(line, (0, y + 14), "t q"))
            y += LINE_PX
    return Block(width=width, height=y, body=[group("Remarks", body)] if body else [])
