"""Work that goes on beside the requests, and ends with the service."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager


@asynccontextmanager
async def in_background(work: Coroutine[None, None, None]) -> AsyncIterator[None]:
    """Do some work meanwhile; at the end it is cancelled wherever it is, and waited for."""
    task = asyncio.create_task(work)
    try:
        yield
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task
