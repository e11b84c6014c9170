"""What is left for later is read in soon after the start, and delays neither start nor end."""

from __future__ import annotations

import asyncio
import sys
from typing import Any

from service.api import warm


def test_what_is_left_for_later_is_read_in_after_a_while(monkeypatch):
    monkeypatch.setattr(warm, "SECONDS", 0.0)
    read: list[str] = []
    monkeypatch.setattr(warm, "import_module", read.append)

    async def go() -> None:
        async with warm.warming(None):  # type: ignore[arg-type]
            assert read == []
            await asyncio.sleep(0.2)

    asyncio.run(go())
    assert read == list(warm.LATER)


def test_the_service_ends_before_it_has_read_in_anything():
    async def go() -> Any:
        async with warm.warming(None):  # type: ignore[arg-type]
            pass

    asyncio.run(asyncio.wait_for(go(), timeout=warm.SECONDS / 2))


def test_there_is_such_a_thing_to_read_in():
    for name in warm.LATER:
        warm.import_module(name)
        assert name in sys.modules
