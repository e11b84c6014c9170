"""Read in what is left for later, so that nobody waits for it.

Geometry and typesetting take longer to read in than all else together. The service is ready without
them, and reads them in beside its first requests.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module

from litestar import Litestar

from service.api.background import in_background

SECONDS = 1.0
"""Seconds after the start, which is left alone."""

LATER = ("service.sheet",)


@asynccontextmanager
async def warming(_: Litestar) -> AsyncIterator[None]:
    """Read in, after a while and in another thread, what calls would read in when first asked."""
    async with in_background(_warm()):
        yield


async def _warm() -> None:
    await asyncio.sleep(SECONDS)
    for name in LATER:
        await asyncio.to_thread(import_module, name)
