"""The texts with which the contract is tested are valid, and mean what they are meant to."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest
from gapwright.quantity.kinds import (
    ModuleSide,
    Nm,
    Percentage,
    Perimeter,
    Reading,
    RollLength,
    StripWidth,
    WorkingDay,
)
from gapwright.quantity.parse import QuantityError, length_nm
from hypothesis import given, settings

from tests.contract.formats import FORMATS, LENGTHS, NM_PER_UM, Written, decimal, lengths

QUANTITIES = (*(kind for kind, _ in LENGTHS.values()), Percentage, WorkingDay)


@pytest.mark.parametrize("name", LENGTHS)
def test_a_length_is_read_as_it_was_meant_in_every_notation(name: str):
    kind, written = LENGTHS[name]

    @settings(max_examples=150, derandomize=True, deadline=None, database=None)
    @given(written)
    def check(way: Written) -> None:
        assert kind.read(way.text) == way.nm

    check()


@pytest.mark.parametrize("kind", [Reading, StripWidth, Perimeter, ModuleSide, RollLength])
def test_a_length_on_a_bound_is_taken_and_one_a_micrometre_beyond_is_not(kind: type[Nm]):
    least, most = length_nm(kind.least), length_nm(kind.most)

    @settings(max_examples=20, derandomize=True, deadline=None, database=None)
    @given(lengths(least, least) | lengths(most, most))
    def check(way: Written) -> None:
        assert kind.read(way.text) in (least, most)

    check()
    for beyond in (least - NM_PER_UM, most + NM_PER_UM):
        with pytest.raises(QuantityError, match="out of range"):
            kind.read(f"{decimal(Fraction(beyond, 10**6))} mm")


@settings(max_examples=50, derandomize=True, deadline=None, database=None)
@given(FORMATS["share"])
def test_a_share_is_read_as_a_part_of_the_whole(text: str):
    assert 0 <= Percentage.read(text) <= Fraction(1, 2)


def test_every_format_of_the_contract_has_texts_and_no_other(published: dict[str, Any]):
    assert formats_in(published["components"]["schemas"]) == FORMATS.keys()


@pytest.mark.parametrize("name", [kind.__name__ for kind in QUANTITIES])
def test_every_notation_matches_the_published_pattern(published: dict[str, Any], name: str):
    schema = published["components"]["schemas"][name]

    @settings(max_examples=150, derandomize=True, deadline=None, database=None)
    @given(FORMATS[schema["format"]])
    def check(text: str) -> None:
        assert re.search(schema["pattern"], text)

    check()
    for wrong in ("", "4", "4 1/2", "in", "1,5 m", "4 in 3", "4 in, 3"):
        assert not re.search(schema["pattern"], wrong)


def formats_in(schema: Any) -> set[str]:
    if isinstance(schema, list):
        return set().union(*map(formats_in, schema))
    if not isinstance(schema, dict):
        return set()
    own = schema.get("format")
    return set().union(*map(formats_in, schema.values())) | (
        {own} if isinstance(own, str) else set()
    )
