"""How wide lettering comes out, and how to break it into lines.

No font is embedded and a reader's may be any sans-serif, so widths are taken for a wide one.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

LETTER_PX = 12
LINE_PX = 17
_NARROW, _SLIM, _USUAL, _TALL, _WIDE = 0.33, 0.42, 0.64, 0.72, 0.98
_WIDTHS = dict.fromkeys(" .,:;'|!iljI", _NARROW)
_WIDTHS |= dict.fromkeys("ftr()/-[]", _SLIM)
_WIDTHS |= dict.fromkeys("mwMW%@", _WIDE)
_WIDTHS |= dict.fromkeys("ABCDEFGHJKLNOPQRSTUVXYZ=+<>", _TALL)
_BOLD = 1.1


@lru_cache(maxsize=4096)
def width_px(text: str, size: float = LETTER_PX, *, bold: bool = False) -> float:
    """Return the width of lettering in the widest of the usual fonts [px]."""
    widths = _WIDTHS
    wide = sum([widths.get(letter, _USUAL) for letter in text])
    return wide * size * (_BOLD if bold else 1)


def wrapped(text: str, width: float, size: float = LETTER_PX, *, bold: bool = False) -> list[str]:
    """Return text in lines no wider than `width` [px]; a word wider than that stands alone."""
    return joined(text.split(), " ", width, size, bold=bold)


def joined(
    parts: Iterable[str], between: str, width: float, size: float = LETTER_PX, *, bold: bool = False
) -> list[str]:
    """Return parts in lines no wider than `width` [px], none of them broken."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]}{between}{part}" if lines else part
        if lines and width_px(longer, size, bold=bold) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines
