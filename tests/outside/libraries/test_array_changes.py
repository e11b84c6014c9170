"""Whole layouts of arrays that are the same but described otherwise: see array_changes.py.

For as many arrays as wanted: python -m tests.load.array_changes --arrays 1000
"""

from __future__ import annotations

import pytest

from tests.contract.ask import Service
from tests.outside.libraries.array_changes import difference, unit_difference
from tests.unit.make import baseline


@pytest.mark.parametrize("block", range(3))
def test_an_array_described_otherwise_takes_as_much_of_everything(block):
    for seed in range(20 * block, 20 * block + 20):
        assert difference(seed, baseline()) is None, seed


def test_an_array_in_other_units_takes_as_much_of_everything():
    service = Service()

    def ask(body):
        return service.post("/v1/layout", body).json()["result"]

    try:
        for seed in range(12):
            assert unit_difference(seed, ask) is None, seed
    finally:
        service.close()
