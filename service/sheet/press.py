"""Set the sheet: a fixed template and plain data in, pages out.

All that a caller or a rule file says goes in as one JSON text, which the template reads with
`json(…)`: it is data there, never markup. Nothing is read from disk but our own fonts, and no
package is ever asked for.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import msgspec

_TEMPLATE = Path(__file__).parent / "template"
_FONTS = "font_source_sans_pro"


def pdf(data: dict[str, Any]) -> bytes:
    """Return the sheet as a PDF; the same data gives the same bytes."""
    made = _set(data, "pdf")
    assert isinstance(made, bytes)
    return made


def pictures(data: dict[str, Any], ppi: float) -> list[bytes]:
    """Return the sheet's pages as PNG."""
    made = _set(data, "png", ppi)
    return [made] if isinstance(made, bytes) else made


def _set(data: dict[str, Any], kind: Any, ppi: float | None = None) -> bytes | list[bytes]:  # noqa: ANN401
    import typst  # 80 MB of library, read in when the first sheet is asked for

    inputs = {"data": msgspec.json.encode(data).decode()}
    # tags would make a file four times as large; who cannot see reads the same in the JSON answer
    made: bytes | list[bytes] = typst.compile(
        _template(),
        format=kind,
        ppi=ppi,
        sys_inputs=inputs,
        font_paths=_fonts(),
        pdf_tags=False,
    )
    return made


@lru_cache(maxsize=1)
def _template() -> bytes:
    """Return the template: its parts in the order of their names."""
    return b"\n".join(part.read_bytes() for part in sorted(_TEMPLATE.glob("*.typ")))


@lru_cache(maxsize=1)
def _fonts() -> Any:  # noqa: ANN401 - the library is read in lazily
    """Return the fonts of the sheet: none of the machine's own, so that pages break alike."""
    import typst

    package = find_spec(_FONTS)
    assert package is not None
    assert package.origin is not None
    folder = Path(package.origin).parent / "files"
    return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])
