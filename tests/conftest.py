"""Defects that are known and open: each must fail, so that a mended one is noticed."""

from __future__ import annotations

import pytest

_CHANGES = "tests/unit/publishing/test_changes.py::test_"

KNOWN = {
    f"{_CHANGES}rows_that_decide_in_turn_and_change_places_are_a_change": (
        "rows of a FIRST table that change places are not told as a change"
    ),
}
"""Test and defect; to be emptied, never to be added to for the sake of green."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Expect each known defect to show."""
    for item in items:
        if item.nodeid in KNOWN:
            item.add_marker(pytest.mark.xfail(reason=KNOWN[item.nodeid], strict=True))
