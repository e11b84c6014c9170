"""Whole layouts of arrays that are the same but described otherwise: see array_changes.py.

For as many arrays as wanted: python -m tests.load.array_changes --arrays 1000
"""

from __future__ import annotations

import pytest

from tests.contract.ask import Service
from tests.outside.libraries.array_changes import difference, random_plane, unit_difference
from tests.unit.make import baseline


@pytest.mark.parametrize("block", range(3))
def test_an_array_described_otherwise_takes_as_much_of_everything(block):
    for seed in range(20 * block, 20 * block + 20):
        assert difference(random_plane(seed, 4, 2), seed, baseline()) is None, seed


@pytest.mark.parametrize("seed", [57, 114])
def test_rails_beyond_a_notch_give_returns_on_either_side_of_it(seed):
    """Mirrored, these arrays once had a stretch of returns that ended before it began."""
    assert difference(random_plane(seed), seed, baseline()) is None


def test_an_array_in_other_units_takes_as_much_of_everything():
    service = Service()

    def ask(body):
        return service.post("/v1/layout", body).json()["result"]

    try:
        for seed in range(12):
            assert unit_difference(random_plane(seed), ask) is None, seed
    finally:
        service.close()
