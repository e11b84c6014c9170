"""Typeset the crew sheet: a fixed template and plain data in, pages out.

All text from callers and rule files goes in as one JSON string, which the template reads with
`json(…)`. It is data there, never markup. Nothing but our own fonts is read from disk, and no
package is ever downloaded.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any

import msgspec
import segno
import typst

_TEMPLATE = Path(__file__).parent / "template"
_FONTS = "font_source_sans_pro"


def render_pdf(data: dict[str, Any]) -> bytes:
    """Return the sheet as a PDF; the same data gives the same bytes."""
    return _compile(data, "pdf")[0]


def render_png(data: dict[str, Any], ppi: float) -> list[bytes]:
    """Return the sheet's pages as PNG."""
    return _compile(data, "png", ppi)


def _compile(data: dict[str, Any], file_format: Any, ppi: float | None = None) -> list[bytes]:  # noqa: ANN401 - a literal of the library
    pages = typst.compile(
        b"\n".join(part.read_bytes() for part in sorted(_TEMPLATE.glob("*.typ"))),
        format=file_format,
        ppi=ppi,
        sys_inputs={"data": msgspec.json.encode(data).decode()},
        font_paths=_fonts(),
        pdf_tags=False,  # they make the file four times as large; the JSON has the same content
    )
    return [pages] if isinstance(pages, bytes) else pages


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    """Return the fonts of the sheet, without system fonts, so that lines break alike."""
    package = find_spec(_FONTS)
    assert package is not None
    assert package.origin is not None
    folder = Path(package.origin).parent / "files"
    return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])


def qr_code(text: str) -> str:
    """Return text as a QR code in SVG, black on white with a quiet zone."""
    image = BytesIO()
    code = segno.make_qr(text, error="m")
    code.save(image, kind="svg", xmldecl=False, light="white", border=2)
    return image.getvalue().decode()
