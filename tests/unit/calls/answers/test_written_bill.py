from __future__ import annotations

import msgspec
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from service.calls.computing import compute_materials
from service.calls.materials_form import MaterialsForm
from service.canonical import canonical_result
from service.quantity.kinds import decode
from tests.unit.make import baseline
from tests.unit.measures import STEADY

readings = st.lists(st.integers(8, 200).map(lambda n: f"{n}/16 in"), min_size=1, max_size=4)
widths = st.sampled_from(["4 in", "6 in", "8 in", "200 mm", "12 in"])
jobs = st.fixed_dictionaries(
    {
        "perimeter": st.integers(1, 20_000).map(lambda n: f"{n} ft")
        | st.integers(400, 900_000).map(lambda n: f"{n} mm"),
        "joining": st.sampled_from(["rings", "ties"]),
        "painted": st.sampled_from(["prepainted", "spray"]),
        "penetrations": st.integers(0, 9),
    },
    optional={
        "units": st.sampled_from(["imperial", "metric"]),
        "corners": st.integers(0, 40),
        "roll_length": st.sampled_from(["50 ft", "100 ft"]),
    },
)


def computed(request):
    return compute_materials(msgspec.convert(request, MaterialsForm, dec_hook=decode), baseline())


@STEADY
@given(
    jobs,
    st.fixed_dictionaries({"clearance": st.fixed_dictionaries({"readings": readings})})
    | st.fixed_dictionaries({"strip_width": widths}),
)
def test_a_written_bill_is_the_answer_in_canonical_form(job, gap):
    found = computed({**job, **gap})
    assert found.canonical() == canonical_result(found.result)
    assert found.canonical() == rfc8785.dumps(msgspec.to_builtins(found.result))


@pytest.mark.parametrize("readings", [["30 in"], ["1/2 in"], ["6 in", "3 in"]])
def test_also_where_no_strip_is_wide_enough_or_none_is_snug(readings):
    found = computed({"perimeter": "90 ft", "clearance": {"readings": readings}})
    assert found.result.advice
    assert found.canonical() == canonical_result(found.result)
