"""The SVG document round the drawn blocks: its size, its style, its patterns, its description."""

from __future__ import annotations

from zlib import crc32

from service.drawing.block import Block
from service.drawing.scale import PX_PER_IN
from service.drawing.style import style
from service.drawing.svg import escaped, moved, num
from service.quantity.show import System

MARGIN_PX = 40.0
_MM_PER_IN = 25.4
_PATTERNS = (
    '<defs><pattern id="zone0" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<circle class="ink" cx="3" cy="3" r="1.3"/></pattern>'
    '<pattern id="zone1" width="6" height="6" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><path class="hatch" d="M3 0V6"/></pattern>'
    '<pattern id="zone2" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path class="hatch" d="M0 3.5H7M3.5 0V7"/></pattern></defs>'
)


def document(
    block: Block, title: str, description: str, system: System, margin: float = MARGIN_PX
) -> str:
    """Return a whole SVG document. Its size on paper is true, so that a print is to scale.

    Title and description have names of their own, so that a page may hold several drawings.
    """
    about = escaped(description)
    key = f"{crc32(about.encode()):08x}"
    wide, high = block.width + 2 * margin, block.height + 2 * margin
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="gapwright-plan" role="img"'
        f' aria-labelledby="title-{key} desc-{key}" {_size(wide, high, system)}'
        f' viewBox="0 0 {num(wide)} {num(high)}">'
        f'<title id="title-{key}">{escaped(title)}</title>'
        f'<desc id="desc-{key}">{about}</desc>'
        f"{style()}{_PATTERNS}"
        f'<rect class="paper" width="{num(wide)}" height="{num(high)}"/>'
        f"{moved(margin, margin, block.body)}</svg>\n"
    )


def _size(wide: float, high: float, system: System) -> str:
    each, unit = (1 / PX_PER_IN, "in") if system == "imperial" else (_MM_PER_IN / PX_PER_IN, "mm")
    return f'width="{wide * each:.3f}{unit}" height="{high * each:.3f}{unit}"'
