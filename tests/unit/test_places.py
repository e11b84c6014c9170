from __future__ import annotations

import pytest
from gapwright.places import shipped


@pytest.mark.parametrize(
    ("folder", "file"),
    [("rules", "baseline/2.0.0.yaml"), ("openapi", "openapi.json"), ("openapi", "examples")],
)
def test_what_comes_with_the_service_is_found(folder, file):
    assert (shipped(folder) / file).exists()
