"""Lines of JSON out of a body that arrives in parts, whatever the parts are."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator
from typing import Any

from litestar.types import Receive

from service.api.background import in_background

_MOST_PARTS = 16
"""Parts of a body that wait to be taken; a server hands on some sixty thousand bytes at a time."""


class ClosedError(Exception):
    """The caller has gone."""


async def lines(receive: Receive, most: int) -> AsyncIterator[tuple[int, bytes | None]]:
    """Yield each line that is not blank with its number, from 1; None for one that is too long.

    At most one line and a few parts of the body are held at a time. Raises ClosedError when the
    caller goes before all lines are taken.
    """
    number, rest, skipping = 1, b"", False
    parts = _Parts()
    async with in_background(parts.read(receive)):
        more = True
        while more:
            message = await parts.next()
            more = message.get("more_body", False)
            *whole, rest = (rest + message.get("body", b"")).split(b"\n")
            if not more:
                whole.append(rest)
            for line in whole:
                if parts.closed.is_set():
                    raise ClosedError
                if skipping or len(line) > most:
                    yield number, None
                elif line.strip():
                    yield number, line
                number, skipping = number + 1, False
            if len(rest) > most:
                rest, skipping = b"", True


class _Parts:
    """The parts of a body, read ahead: only so it is noticed at once that the caller has gone."""

    def __init__(self) -> None:
        self.closed = asyncio.Event()
        self._waiting: asyncio.Queue[Any] = asyncio.Queue(_MOST_PARTS)

    async def read(self, receive: Receive) -> None:
        """Take in parts until the caller goes; what comes after the body is that alone."""
        try:
            while (message := await receive())["type"] == "http.request":
                await self._waiting.put(message)
        finally:
            self.closed.set()
            with contextlib.suppress(asyncio.QueueFull):
                self._waiting.put_nowait(None)  # for whom waits for a part

    async def next(self) -> Any:  # noqa: ANN401 - messages of ASGI are plain mappings
        """Return the next part. Raises ClosedError where the caller has gone."""
        message = await self._waiting.get()
        if message is None:
            raise ClosedError
        return message
