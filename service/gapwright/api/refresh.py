"""Take up changed rules without a restart, and look for files that were tampered with."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from typing import Any

import structlog
from litestar import Litestar

from gapwright.api.catalog import Catalog, Catalogs
from gapwright.rulesets.ledger import Record
from gapwright.rulesets.shelf import Stamp

log: structlog.stdlib.BoundLogger = structlog.get_logger()

RENEW_SECONDS = 2.0
"""Seconds between two looks at the ledgers and at the files in use."""
INSPECT_SECONDS = 5.0
"""Seconds between two rounds through all published files; the first begins as long after start."""
PAUSE_FACTOR = 9.0
"""How many times as long as a file took the next one waits: a tenth of one core goes into it."""

Inspected = dict[tuple[str, str], Stamp | None]
"""The stamps of the files, by kind and version, as they were when they were read."""


def refreshing(
    catalogs: Catalogs,
    renew_seconds: float = RENEW_SECONDS,
    inspect_seconds: float = INSPECT_SECONDS,
) -> Callable[[Litestar], AbstractAsyncContextManager[None]]:
    """Return a lifespan during which changes in the folder of rules are noticed."""

    @asynccontextmanager
    async def lifespan(_: Litestar) -> AsyncIterator[None]:
        requested = asyncio.Event()
        loop = asyncio.get_running_loop()
        with contextlib.suppress(NotImplementedError, ValueError, RuntimeError, AttributeError):
            loop.add_signal_handler(signal.SIGHUP, requested.set)
        seen = await asyncio.to_thread(fingerprint, catalogs)  # before anyone can change a file
        tasks = (
            asyncio.create_task(_renew(catalogs, requested, renew_seconds, seen)),
            asyncio.create_task(_inspect(catalogs, inspect_seconds)),
        )
        try:
            yield
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    return lifespan


def fingerprint(catalogs: Catalogs) -> tuple[Any, ...]:
    """Return what changes when there is something to renew: first the ledgers, then the files."""
    rules, prices = catalogs.rules.shelf.fingerprint(), catalogs.prices.shelf.fingerprint()
    return ((rules[0], prices[0]), rules[1:], prices[1:])


async def _renew(
    catalogs: Catalogs, requested: asyncio.Event, seconds: float, seen: tuple[Any, ...]
) -> None:
    """Renew on SIGHUP, and when the folder no longer looks as it did."""
    while True:
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(requested.wait(), seconds)
        found = await asyncio.to_thread(fingerprint, catalogs)
        if requested.is_set() or found != seen:
            requested.clear()
            await catalogs.renew()
            after = await asyncio.to_thread(fingerprint, catalogs)
            if after[0] != found[0]:  # what the ledger took in meanwhile may not have been read
                requested.set()
            found = after
        seen = found


async def _inspect(catalogs: Catalogs, seconds: float) -> None:
    """Read every published file once, and again when it changes, so that /readyz reports all.

    A version is read when it is first asked for; else one that was tampered with since it was
    published would be found only then.
    """
    inspected: Inspected = {}
    while True:
        await asyncio.sleep(seconds)
        await inspect_changed(catalogs, inspected)


async def inspect_changed(
    catalogs: Catalogs, inspected: Inspected, pause_factor: float = PAUSE_FACTOR
) -> None:
    """Read each file that has changed since it was inspected, and then all that were refused.

    What one file says can be what another is refused for. Shelves may be renewed meanwhile.
    """
    for catalog in (catalogs.rules, catalogs.prices):
        found = await asyncio.to_thread(_changed, catalog, inspected)
        again = [r for r in catalog.shelf.refused() if found and r not in found]
        for record in (*found, *again):
            started = time.perf_counter()
            shelf = catalog.shelf
            inspected[catalog.noun, record.name] = shelf.stamp(record)
            try:
                await asyncio.to_thread(shelf.inspect, record)
            except Exception:
                log.exception("version not inspected", version=record.name)
            await asyncio.sleep(pause_factor * (time.perf_counter() - started))


def _changed(catalog: Catalog[Any], inspected: Inspected) -> list[Record]:
    """Return the versions whose files are not as they were when they were inspected."""
    nothing = object()
    return [
        record
        for versions in list(catalog.shelf.ledger.values())
        for record in list(versions.values())
        if inspected.get((catalog.noun, record.name), nothing) != catalog.shelf.stamp(record)
    ]
