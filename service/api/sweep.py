"""Look through the published files that nobody has asked for, so that readiness tells of all.

A version is read when it is first asked for. One that was tampered with since it was published
would be found only then; here each is read once after the start, and again when its file changes,
and let go. At most a tenth of one core goes into that.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from typing import Any

import structlog
from litestar import Litestar

from service.api.background import in_background
from service.api.desk import Desk
from service.rulesets.ledger import Record
from service.rulesets.shelf import AnyShelf, Stamp

log: structlog.stdlib.BoundLogger = structlog.get_logger()

SECONDS = 5.0
"""Seconds between two rounds; the first begins as long after the start."""
REST = 9.0
"""How many times as long as a file took it rests before the next."""

Seen = dict[str, Stamp | None]
"""The stamps of the files, by version, as they were when they were read."""


def sweeping(
    desk: Desk, seconds: float = SECONDS
) -> Callable[[Litestar], AbstractAsyncContextManager[None]]:
    """Return a lifespan during which the files of both shelves are looked through."""

    @asynccontextmanager
    async def lifespan(_: Litestar) -> AsyncIterator[None]:
        async with in_background(_sweep(desk, seconds)):
            yield

    return lifespan


async def _sweep(desk: Desk, seconds: float) -> None:
    rules: Seen = {}
    prices: Seen = {}
    while True:
        await asyncio.sleep(seconds)
        await _round(lambda: desk.shelf, rules)
        await _round(lambda: desk.prices.shelf, prices)


async def _round(shelf: Callable[[], AnyShelf[Any]], seen: Seen) -> None:
    """Read each file that has changed since it was seen, and then all that were refused.

    What one file says can be what another is refused for. The shelf may be renewed meanwhile.
    """
    changed = await asyncio.to_thread(_changed, shelf(), seen)
    again = [record for record in shelf().refused() if changed and record not in changed]
    for record in (*changed, *again):
        started = time.perf_counter()
        seen[record.name] = shelf().stamp(record)
        try:
            await asyncio.to_thread(shelf().inspect, record)
        except Exception:
            log.exception("version not looked through", version=record.name)
        await asyncio.sleep(REST * (time.perf_counter() - started))


def _changed(shelf: AnyShelf[Any], seen: Seen) -> list[Record]:
    """Return the versions whose files are not as they were seen last."""
    return [
        record
        for versions in list(shelf.ledger.values())
        for record in list(versions.values())
        if record.name not in seen or shelf.stamp(record) != seen[record.name]
    ]
