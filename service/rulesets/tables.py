"""Decision tables: rows of conditions over the facts of a job, and what follows where they match.

Hit policies carry the names of the DMN standard: FIRST takes the first row that matches, UNIQUE
the only one, COLLECT all of them in their order.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import msgspec

HitPolicy = Literal["UNIQUE", "FIRST", "COLLECT"]
Range = tuple[int | None, int | None]
"""A half-open range: from (it belongs to it) and below (it does not); None where it is open."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row; a fact that `options` and `ranges` leave out may be anything."""

    id: str
    options: tuple[tuple[str, frozenset[Any]], ...]
    ranges: tuple[tuple[str, Range], ...]
    then: Mapping[str, str]


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """A decision table."""

    id: str
    hit_policy: HitPolicy
    rows: tuple[Row, ...]


def match(table: Table, facts: Mapping[str, Any]) -> tuple[Row, ...]:
    """Return the rows that decide on the facts, after the hit policy."""
    hits = tuple(row for row in table.rows if _matches(row, facts))
    return hits if table.hit_policy == "COLLECT" else hits[:1]


def _matches(row: Row, facts: Mapping[str, Any]) -> bool:
    return all(facts[name] in accepted for name, accepted in row.options) and all(
        (least is None or facts[name] >= least) and (below is None or facts[name] < below)
        for name, (least, below) in row.ranges
    )
