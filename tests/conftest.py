"""Defects that are known and open: each must fail, so that a mended one is noticed."""

from __future__ import annotations

import pytest

_TRACE = "tests/rules/test_perturbation.py::test_"

KNOWN = {
    f"{_TRACE}a_figure_with_a_step_changes_only_with_the_rules_that_the_step_cites"
    "[counted materials]": "quantities counted from a layout do not cite the layout's values",
    f"{_TRACE}every_figure_that_a_rule_can_change_has_a_step_in_the_trace"
    "[counted materials]": "thumb-rule figures beside counted ones have no step",
    f"{_TRACE}every_figure_that_a_rule_can_change_has_a_step_in_the_trace"
    "[layout]": "the profile and the geometry of a layout have no step",
}
"""Test and defect; to be emptied, never to be added to for the sake of green."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Expect each known defect to show."""
    for item in items:
        if item.nodeid in KNOWN:
            item.add_marker(pytest.mark.xfail(reason=KNOWN[item.nodeid], strict=True))
