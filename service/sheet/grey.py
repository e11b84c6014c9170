"""Pictures of pages in sixteen greys: as the sheet looks in print, and a quarter of the size.

Reference: Portable Network Graphics, third edition, clauses 9 (filters) and 11 (chunks).
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_CHANNELS = 4
_RED, _GREEN, _BLUE = 54, 183, 19
"""How bright each colour is, of 256 (ITU-R BT.709)."""


def grey(png: bytes) -> bytes:
    """Return a PNG with 8-bit red, green, blue and alpha, fully opaque, in sixteen greys."""
    chunks = list(_chunks(png))
    wide, high = struct.unpack(">II", chunks[0][1][:8])
    if chunks[0][1][8:] != b"\x08\x06\x00\x00\x00":
        raise ValueError("The picture has other samples than 8-bit RGBA.")
    packed = zlib.decompress(b"".join(data for kind, data in chunks if kind == b"IDAT"))
    rows = b"".join(b"\x00" + _greyed(row, wide) for row in _rows(packed, wide * _CHANNELS))
    head = struct.pack(">II", wide, high) + b"\x04\x00\x00\x00\x00"
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return _SIGNATURE + b"".join(_chunk(kind, data) for kind, data in parts)


def _chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(_SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        yield png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        at += 12 + length


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _rows(packed: bytes, size: int) -> Iterator[bytearray]:
    """Yield the rows of samples, their filters undone."""
    above = bytearray(size)
    for start in range(0, len(packed), size + 1):
        row = bytearray(packed[start + 1 : start + 1 + size])
        _undo(packed[start], row, above)
        yield row
        above = row


def _undo(kind: int, row: bytearray, above: bytearray) -> None:
    """Undo the filter of a row, given the row above it."""
    for at in range(len(row)):
        left = row[at - _CHANNELS] if at >= _CHANNELS else 0
        corner = above[at - _CHANNELS] if at >= _CHANNELS else 0
        guess = (0, left, above[at], (left + above[at]) // 2, 0)[kind]
        if kind == 4:
            guess = _paeth(left, above[at], corner)
        row[at] = (row[at] + guess) & 255


def _paeth(left: int, above: int, corner: int) -> int:
    """Return which of three neighbours is nearest to where they lead (clause 9.4)."""
    to_left, to_above = abs(above - corner), abs(left - corner)
    to_corner = abs(left + above - 2 * corner)
    if to_left <= to_above and to_left <= to_corner:
        return left
    return above if to_above <= to_corner else corner


def _greyed(row: bytearray, wide: int) -> bytes:
    """Return a row as two greys a byte."""
    greys = [
        (_RED * row[at] + _GREEN * row[at + 1] + _BLUE * row[at + 2]) // 256 * 15 // 255
        for at in range(0, wide * _CHANNELS, _CHANNELS)
    ]
    greys += [0] * (wide % 2)
    return bytes(high << 4 | low for high, low in zip(greys[::2], greys[1::2], strict=True))
