"""The folder that the shelf is measured on can be made; the measuring itself is run by hand."""

from __future__ import annotations

from datetime import date

import pytest
from gapwright.rulesets.reader import RuleFileError
from gapwright.rulesets.shelf import Shelf

from tests.load.bench_shelf import generate, name


def test_companies_are_published_over_the_baseline_and_the_last_are_broken(tmp_path):
    folder = tmp_path / "rules"
    generate(folder, companies=3, broken=1)
    shelf = Shelf(folder)
    for at in range(2):
        assert shelf.pick(name(at), date(2026, 3, 1)).id == name(at)
    with pytest.raises(RuleFileError):
        shelf.pick(name(2), date(2026, 3, 1))
