from __future__ import annotations

import json

import rfc8785
from gapwright.quantity.output import encode
from gapwright.quantity.show import long, short
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.measures import STEADY, M


@STEADY
@given(
    st.sampled_from([short, long]),
    st.integers(-M, 10_000 * M),
    st.sampled_from(["imperial", "metric"]),
    st.sampled_from(["up", "down"]),
)
def test_a_length_of_a_result_is_canonical_as_it_is_written(write, nm, system, safe):
    canonical = encode(write(nm, system, safe), system)
    assert canonical == rfc8785.dumps(json.loads(canonical))
