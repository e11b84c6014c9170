"""The receipt as a QR code, so that a photo of the sheet tells which answer it belongs to."""

from __future__ import annotations

from io import BytesIO


def qr_code(text: str) -> str:
    """Return text as a QR code in SVG, black on white with a quiet zone."""
    import segno  # read in when the first sheet is asked for

    drawn = BytesIO()
    code = segno.make_qr(text, error="m")
    code.save(drawn, kind="svg", xmldecl=False, light="white", border=2)
    return drawn.getvalue().decode()
