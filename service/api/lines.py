"""Lines of JSON out of a body that arrives in parts, whatever the parts are."""

from __future__ import annotations

from collections.abc import AsyncIterator

from litestar.types import Receive


class ClosedError(Exception):
    """The caller has gone."""


async def lines(receive: Receive, most: int) -> AsyncIterator[tuple[int, bytes | None]]:
    """Yield each line that is not blank with its number, from 1; None for one that is too long.

    At most one line and one part of the body are held at a time. Raises ClosedError when the
    caller goes before the body ends.
    """
    number, rest, skipping = 1, b"", False
    more = True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            raise ClosedError
        *whole, last = (rest + message.get("body", b"")).split(b"\n")
        more = message.get("more_body", False)
        if not more:
            whole.append(last)
        for line in whole:
            if skipping or len(line) > most:
                yield number, None
            elif line.strip():
                yield number, line
            number, skipping = number + 1, False
        rest = last
        if len(rest) > most:
            rest, skipping = b"", True
