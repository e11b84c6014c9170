"""Pages in sixteen greys show what the pages in colour show."""

from __future__ import annotations

import struct
import zlib

import pytest

from service.sheet.grey import grey

HEAD = ">IIBBBBB"


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def coloured(rows: list[bytes], wide: int, kind: int = 6) -> bytes:
    """Return a PNG of filtered rows."""
    head = chunk(b"IHDR", struct.pack(HEAD, wide, len(rows), 8, kind, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(b"".join(rows)))
    return b"\x89PNG\r\n\x1a\n" + head + body + chunk(b"IEND", b"")


def greys(png: bytes) -> tuple[tuple[int, ...], list[list[int]]]:
    """Return the head of a picture in sixteen greys, and its greys."""
    head = struct.unpack(HEAD, png[16:29])
    (length,) = struct.unpack(">I", png[33:37])
    raw = zlib.decompress(png[41 : 41 + length])
    size = (head[0] + 1) // 2 + 1
    rows = [raw[at + 1 : at + size] for at in range(0, len(raw), size)]
    return head, [[part for two in row for part in (two >> 4, two & 15)][: head[0]] for row in rows]


RED, WHITE, BLACK = b"\xff\0\0\xff", b"\xff\xff\xff\xff", b"\0\0\0\xff"


def test_black_white_and_a_colour_become_greys_of_their_brightness():
    found = greys(grey(coloured([b"\0" + BLACK + WHITE + RED], 3)))
    assert found == ((3, 1, 4, 0, 0, 0, 0), [[0, 15, 3]])


@pytest.mark.parametrize("kind", range(5))
def test_every_filter_of_the_format_is_undone(kind: int):
    """Differences to white neighbours are nothing, whichever neighbours a filter takes."""
    white_again = {0: WHITE * 2, 1: WHITE + b"\0" * 4, 2: b"\0" * 8, 4: b"\0" * 8}
    white_again[3] = b"\x80\x80\x80\x80" + b"\0" * 4
    rows = [b"\0" + WHITE * 2, bytes([kind]) + white_again[kind]]
    assert greys(grey(coloured(rows, 2)))[1] == [[15, 15], [15, 15]]


def test_a_picture_of_other_samples_is_refused():
    with pytest.raises(ValueError, match="8-bit RGBA"):
        grey(coloured([b"\0" + b"\0" * 3], 1, kind=2))
