"""No rule value or array makes a layout take more than it may."""

from __future__ import annotations

import msgspec
import pytest
from gapwright.calc.layout.lay import lay_out, outline_plane
from gapwright.calc.layout.plane import InferredRails
from gapwright.errors import InvalidRequestError

from tests.unit.calc.layout.test_whole import plane
from tests.unit.make import baseline


def test_rails_are_counted_before_they_are_made():
    rules, whole = baseline(), plane({(0, 0), (1, 0)}, InferredRails())
    values = msgspec.structs.replace(rules.values, rails_per_row=10**9)
    with pytest.raises(InvalidRequestError, match="1000000000 rails per row"):
        lay_out(whole, outline_plane(whole, rules), msgspec.structs.replace(rules, values=values))


def test_long_rows_that_all_differ_are_refused_before_any_is_laid_out():
    rules = baseline()
    rows = plane({(2 * row, column) for row in range(5) for column in range(600)}, InferredRails())
    with pytest.raises(InvalidRequestError, match="more channel"):
        lay_out(rows, outline_plane(rows, rules), rules)
