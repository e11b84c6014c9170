"""Take up changed rules without a restart: on SIGHUP, and when the ledger or a file changes."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from typing import Any

from litestar import Litestar

from service.api.background import in_background
from service.api.desk import Desk

SECONDS = 2.0
"""Seconds between two looks at the folder."""


def watching(
    desk: Desk, seconds: float = SECONDS
) -> Callable[[Litestar], AbstractAsyncContextManager[None]]:
    """Return a lifespan during which the desk renews its shelves when the folder changes."""

    @asynccontextmanager
    async def lifespan(_: Litestar) -> AsyncIterator[None]:
        called = asyncio.Event()
        loop = asyncio.get_running_loop()
        with contextlib.suppress(NotImplementedError, ValueError, RuntimeError, AttributeError):
            loop.add_signal_handler(signal.SIGHUP, called.set)
        seen = await asyncio.to_thread(desk.fingerprint)  # before anyone can ask, or change a file
        async with in_background(_watch(desk, called, seconds, seen)):
            yield

    return lifespan


async def _watch(desk: Desk, called: asyncio.Event, seconds: float, seen: tuple[Any, ...]) -> None:
    """Renew whenever called, or when the folder no longer looks as it did."""
    while True:
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(called.wait(), seconds)
        found = await asyncio.to_thread(desk.fingerprint)
        if called.is_set() or found != seen:
            called.clear()
            await desk.renew()
            after = await asyncio.to_thread(desk.fingerprint)
            if after[0] != found[0]:  # what the ledger took in meanwhile may not have been read
                called.set()
            found = after
        seen = found
