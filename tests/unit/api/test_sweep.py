"""Files that nobody asked for are looked through, beside whatever else is done."""

from __future__ import annotations

import asyncio
import time
from types import SimpleNamespace

import pytest

from service.api import sweep
from service.pricebooks.shelf import PriceShelf
from service.rulesets.shelf import Shelf
from tests.unit.folders import add, alter, put
from tests.unit.make import house_text


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """Return a desk with a small root, house@1.0.0, and overlays a and b, and no rest at all."""
    monkeypatch.setattr(sweep, "REST", 0.0)
    rules, prices = tmp_path / "rules", tmp_path / "prices"
    rules.mkdir()
    prices.mkdir()
    put(rules, "house", "1.0.0", house_text().replace("id: baseline", "id: house"))
    add(rules, "a")
    add(rules, "b")
    return SimpleNamespace(
        folder=rules, shelf=Shelf(rules), prices=SimpleNamespace(shelf=PriceShelf(prices))
    )


def swept(desk, *steps):
    """Sweep; wait for each condition in turn, and do after it what is to be done."""

    async def go():
        async with sweep.sweeping(desk, seconds=0.01)(None):
            for condition, act in steps:
                while not condition():
                    await asyncio.sleep(0.01)
                act()

    asyncio.run(asyncio.wait_for(go(), timeout=60))


def told(desk, *names):
    """Return a condition: that just these cannot be used, and that it is told why."""
    return lambda: (
        {record.id for record in desk.shelf.refused()} == set(names)
        and bool(desk.shelf.problems) == bool(names)
    )


def nothing():
    pass


def test_a_file_that_was_tampered_with_is_told_before_anyone_asks_and_no_more_when_mended(desk):
    alter(desk.folder, "a", "8 in", "9 in")
    mend = (told(desk, "a"), lambda: alter(desk.folder, "a", "9 in", "8 in"))
    swept(desk, mend, (told(desk), nothing))


def test_a_file_that_is_tampered_with_later_is_told_as_well(desk):
    read = []
    inspect = desk.shelf.inspect
    desk.shelf.inspect = lambda record: (inspect(record), read.append(record))
    spoil = (lambda: len(read) == 3, lambda: alter(desk.folder, "b", "8 in", "9 in"))
    swept(desk, spoil, (told(desk, "b"), nothing))


def test_what_rests_on_a_mended_file_is_told_no_more_either(desk):
    alter(desk.folder, "house", "id: house", "id: hose")
    mend = (
        told(desk, "house", "a", "b"),
        lambda: alter(desk.folder, "house", "id: hose", "id: house"),
    )
    swept(desk, mend, (told(desk), nothing))


def test_nothing_that_is_looked_through_is_kept(desk):
    records = [versions["1.0.0"] for versions in desk.shelf.ledger.values()]
    read = []
    inspect = desk.shelf.inspect
    desk.shelf.inspect = lambda record: (inspect(record), read.append(record))
    swept(desk, (lambda: len(read) == len(records), nothing))
    assert [desk.shelf.held(record) for record in records] == [None] * len(records)


def test_a_file_that_is_as_it_was_is_not_read_again(desk):
    read = []
    inspect = desk.shelf.inspect
    desk.shelf.inspect = lambda record: (inspect(record), read.append(record.name))
    rounds = []
    changed = sweep._changed
    sweep_changed = lambda shelf, seen: rounds.append(1) or changed(shelf, seen)  # noqa: E731
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sweep, "_changed", sweep_changed)
        swept(desk, (lambda: len(rounds) >= 10, nothing))
    assert sorted(read) == ["a@1.0.0", "b@1.0.0", "house@1.0.0"]


def test_a_failure_in_one_file_ends_nothing(desk):
    inspect = desk.shelf.inspect

    def breaks(record):
        if record.id == "a":
            raise RuntimeError("the roof is wet")
        inspect(record)

    desk.shelf.inspect = breaks
    alter(desk.folder, "b", "8 in", "9 in")
    swept(desk, (told(desk, "b"), nothing))


def test_the_service_ends_at_once_whatever_the_sweep_is_at(desk, monkeypatch):
    monkeypatch.setattr(sweep, "REST", 10_000.0)
    started = []
    inspect = desk.shelf.inspect
    desk.shelf.inspect = lambda record: (inspect(record), started.append(time.monotonic()))
    swept(desk, (lambda: bool(started), nothing))
    assert len(started) == 1
