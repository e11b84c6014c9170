from __future__ import annotations

import re

import pytest
from gapwright.api.problems import KINDS


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_of_problem_has_its_address_status_title_and_meaning(name):
    kind = KINDS[name]
    assert kind.name == name
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", name)
    assert 400 <= kind.status < 600
    assert kind.title
    assert not kind.title.endswith(".")
    assert kind.description.endswith(".")
