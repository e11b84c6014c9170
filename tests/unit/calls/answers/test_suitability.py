from __future__ import annotations

import msgspec
import pytest

from service.calls.computing import compute_suitability
from service.calls.forms import SuitabilityForm
from service.quantity.kinds import decode
from tests.unit.make import baseline


def answered(**told):
    form = msgspec.convert(told, SuitabilityForm, dec_hook=decode)
    return msgspec.to_builtins(compute_suitability(form, baseline()).result)


def test_what_was_not_told_is_shown_as_assumed():
    found = answered(covering="composition_shingle", racking="railed")
    assumed = {entry["fact"]: entry["taken"] for entry in found["assumptions"]}
    assert assumed["clearance"]["text"] == "4 1/2 in"
    assert assumed["active_nest"] is False


@pytest.mark.parametrize(("units", "text"), [("metric", "115 mm"), ("imperial", "4 1/2 in")])
def test_an_assumed_clearance_is_shown_in_the_callers_units(units, text):
    assert answered(units=units)["assumptions"][0]["taken"]["text"] == text


def test_a_reason_without_a_remedy_says_null():
    found = answered(
        covering="composition_shingle", racking="railed", clearance={"readings": ["4 in"]}
    )
    (reason,) = found["reasons"]
    assert reason["remedy"] is None
    assert reason["rule"] == "tables.suitability.rows.shingle_on_rails"
