"""Blocks of a page: drawn parts with their size, put below or beside each other."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.drawing.svg import moved

_SHEET = 1.4
"""The long side of a sheet to its short one: between the metric and the American sizes."""


class Block(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a page, drawn from its upper left corner, and its size [px]."""

    width: float
    height: float
    body: Sequence[str]

    @property
    def sheet_px(self) -> float:
        """Return the short side of the smallest sheet, lying or standing, that holds the part."""
        lying = max(self.height, self.width / _SHEET)
        return min(lying, max(self.width, self.height / _SHEET))


def below(blocks: Sequence[Block], gap: float) -> Block:
    """Return blocks below each other as one."""
    body, y = [], 0.0
    for block in blocks:
        body.append(moved(0, y, block.body))
        y += block.height + gap
    width = max((block.width for block in blocks), default=0)
    return Block(width=width, height=max(y - gap, 0), body=body)


def beside(blocks: Sequence[Block], gap: float) -> Block:
    """Return blocks beside each other as one."""
    body, x = [], 0.0
    for block in blocks:
        body.append(moved(x, 0, block.body))
        x += block.width + gap
    height = max((block.height for block in blocks), default=0)
    return Block(width=max(x - gap, 0), height=height, body=body)
