"""Quantities in answers: exact inside, and written in the units asked for."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest
import rfc8785
from gapwright.quantity.output import (
    Amount,
    Duration,
    Length,
    Money,
    Remaining,
    RunDown,
    RunUp,
    SectionDown,
    SectionUp,
    Text,
    Unit,
    Weight,
    encode,
    plain,
    wire_schema,
)
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import FT, IN, STEADY, M

NM = st.integers(-100 * M, 10_000 * M)
SYSTEMS = st.sampled_from(["imperial", "metric"])
ODD = 5 * IN + 1
"""A nanometre more than 5 in."""


def length(value, unit, text, rounded=None):
    return {"value": value, "unit": unit, "text": text} | ({"rounded": rounded} if rounded else {})


KINDS = [
    (SectionDown(ODD), length(5, "in", "5 in", "down"), length(127.000001, "mm", "127 mm", "down")),
    (SectionUp(ODD), length(5, "in", "5 1/16 in", "up"), length(127.000001, "mm", "128 mm", "up")),
    (RunDown(76 * IN), length(6.333333, "ft", "6 ft 4 in"), length(1.9304, "m", "1.93 m", "down")),
    (RunUp(76 * IN), length(6.333333, "ft", "6 ft 4 in"), length(1.9304, "m", "1.931 m", "up")),
    (Amount(100 * FT, measured=True), 100, 30.48),
    (Amount(45, measured=False), 45, 45),
    (Remaining(50 * FT, measured=True), 50, 15.24),
    (Unit(True), "ft", "m"),
    (Unit(False), "each", "each"),
    (
        Weight(453.59237 * 20),
        {"value": 20, "unit": "lb", "text": "20.0 lb"},
        {"value": 9.072, "unit": "kg", "text": "9.07 kg"},
    ),
    (Duration(Fraction(339, 1)), *[{"value": 5.65, "unit": "h", "text": "5 h 39 min"}] * 2),
    (Money(Decimal("128.40")), "128.40", "128.40"),
    (Text("Leave {} free."), "Leave {} free.", "Leave {} free."),
    (Text("Leave {} free.", SectionUp(ODD)), "Leave 5 1/16 in free.", "Leave 128 mm free."),
    (Text("{} of {}", Amount(FT, True), Amount(3, False)), "1 ft of 3", "0.305 m of 3"),
]


@pytest.mark.parametrize(("quantity", "imperial", "metric"), KINDS)
def test_each_kind_is_written_in_the_units_asked_for(quantity, imperial, metric):
    for system, written in (("imperial", imperial), ("metric", metric)):
        assert plain(quantity, system) == json.loads(encode([quantity], system))[0] == written
        msgspec.convert(written, type(quantity).wire)  # and as the contract says


@STEADY
@given(NM, SYSTEMS, st.sampled_from([SectionDown, SectionUp, RunDown, RunUp]))
def test_a_length_reads_alike_wherever_it_stands(nm, system, kind):
    """In a member, in a sentence, and in the list of a bill."""
    found = plain([kind(nm), Text("{}", kind(nm)), Amount(nm, True)], system)
    assert found[0]["text"] == found[1] == kind(nm).text(system)
    assert found[2] == plain(RunDown(nm), system)["value"] == plain(RunUp(nm), system)["value"]
    assert Amount(nm, True).text(system) == RunUp(nm).text(system)
    assert Remaining(nm, True).text(system) == RunDown(nm).text(system)


@STEADY
@given(st.lists(NM | st.integers(-99, 99), min_size=1), SYSTEMS)
def test_what_is_written_is_canonical(lengths, system):
    """RFC 8785: sorted names, and numbers without dot-zero or exponent."""
    result = {"z": [RunUp(nm) for nm in lengths], "a": [Fraction(lengths[0], 7)]}
    body = encode(result, system)
    assert body == rfc8785.dumps(json.loads(body))


def test_quantities_are_equal_by_kind_and_amount():
    assert RunUp(5) == RunUp(5) != RunDown(5)
    assert len({RunUp(5), RunUp(5), RunDown(5), RunUp(6)}) == 3
    assert SectionUp(5) != 5
    assert (SectionUp(5).nm, repr(SectionUp(5))) == (5, "SectionUp(5)")


def test_what_is_no_quantity_is_not_written():
    with pytest.raises(NotImplementedError, match="object"):
        encode(object(), "imperial")


def test_the_contract_describes_what_is_written():
    assert wire_schema(RunUp, "#/{name}") == {"$ref": "#/Length"} == wire_schema(Length, "#/{name}")
    assert wire_schema(Amount, "#/{name}") == {"type": "number"}
    assert wire_schema(Unit, "#/{name}")["enum"] == ["each", "ft", "in", "m", "mm"]
