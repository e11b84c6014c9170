"""Files that nobody asked for are inspected, so that readiness tells of those tampered with."""

from __future__ import annotations

import asyncio
from datetime import date

import pytest
from gapwright.api.catalog import Catalogs
from gapwright.api.refresh import inspect_changed, refreshing
from gapwright.api.settings import Settings

from tests.unit.folders import add, alter, put
from tests.unit.make import house_text


@pytest.fixture
def folder(tmp_path):
    """Return a folder with a small root, house@1.0.0, and overlays a and b."""
    rules = tmp_path / "rules"
    rules.mkdir()
    put(rules, "house", "1.0.0", house_text().replace("id: baseline", "id: house"))
    add(rules, "a")
    add(rules, "b")
    return rules


class Inspector:
    """Catalogs of a folder, and what was seen and read of it."""

    def __init__(self, folder):
        settings = Settings(rules=folder, default_ruleset="house")
        self.catalogs = Catalogs(settings, lambda: date(2026, 12, 1))
        self.shelf = self.catalogs.rules.shelf
        self.read = []
        self.failing = set()
        self._inspected = {}
        self._inspect, self.shelf.inspect = self.shelf.inspect, self._watched

    def _watched(self, record):
        self.read.append(record.name)
        if record.id in self.failing:
            raise RuntimeError("the roof is wet")
        self._inspect(record)

    def go_round(self):
        """Inspect what has changed, and return whose versions cannot be used."""
        asyncio.run(inspect_changed(self.catalogs, self._inspected, pause_factor=0))
        refused = {record.id for record in self.shelf.refused()}
        assert bool(self.shelf.problems) == bool(refused)
        return refused


def test_a_file_that_was_tampered_with_is_reported_before_anyone_asks_until_it_is_mended(folder):
    alter(folder, "a", "8 in", "9 in")
    inspector = Inspector(folder)
    assert inspector.go_round() == {"a"}
    alter(folder, "a", "9 in", "8 in")
    assert inspector.go_round() == set()


def test_a_file_that_is_tampered_with_later_is_reported_as_well(folder):
    inspector = Inspector(folder)
    assert inspector.go_round() == set()
    alter(folder, "b", "8 in", "9 in")
    assert inspector.go_round() == {"b"}


def test_what_rests_on_a_mended_file_is_no_longer_reported_either(folder):
    inspector = Inspector(folder)
    alter(folder, "house", "id: house", "id: hose")
    assert inspector.go_round() == {"house", "a", "b"}
    alter(folder, "house", "id: hose", "id: house")
    assert inspector.go_round() == set()


def test_readiness_reports_what_was_inspected(folder):
    inspector = Inspector(folder)
    alter(folder, "b", "8 in", "9 in")
    assert inspector.catalogs.readiness().problems == ()
    inspector.go_round()
    (problem,) = inspector.catalogs.readiness().problems
    assert problem.startswith("b/1.0.0.yaml:")


def test_only_what_has_changed_is_read_again_and_nothing_is_held(folder):
    inspector = Inspector(folder)
    inspector.go_round()
    inspector.go_round()
    assert sorted(inspector.read) == ["a@1.0.0", "b@1.0.0", "house@1.0.0"]
    records = [versions["1.0.0"] for versions in inspector.shelf.ledger.values()]
    assert [inspector.shelf.held(record) for record in records] == [None] * 3


def test_a_failure_in_one_file_leaves_the_others(folder):
    inspector = Inspector(folder)
    inspector.failing = {"a"}
    alter(folder, "b", "8 in", "9 in")
    assert inspector.go_round() == {"b"}


def test_the_service_ends_at_once_whatever_is_being_inspected(folder):
    inspector = Inspector(folder)

    async def run():
        async with refreshing(inspector.catalogs, renew_seconds=0, inspect_seconds=0)(None):
            while not inspector.read:
                await asyncio.sleep(0)

    asyncio.run(asyncio.wait_for(run(), timeout=60))
    assert inspector.read
