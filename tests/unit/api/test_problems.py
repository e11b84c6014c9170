from __future__ import annotations

import re

import pytest

from service.api.problems import KINDS, ProblemError, problem
from service.errors import Fault


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_of_problem_has_its_address_status_title_and_meaning(name):
    kind = KINDS[name]
    assert kind.name == name
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", name)
    assert 400 <= kind.status < 600
    assert kind.title
    assert not kind.title.endswith(".")
    assert kind.means.endswith(".")


def test_a_refusal_becomes_a_document_with_every_fault_at_its_pointer():
    faults = [
        Fault(path=("clearance", "readings", 1), problem='"4" has no unit.', remedy="Write 4 in."),
        Fault(path=(), problem="Found a list."),
    ]
    found = problem(ProblemError("unusable-request", "2 things are wrong with it.", faults))
    assert found.type == "/problems/unusable-request"
    assert found.status == KINDS["unusable-request"].status
    assert [(e.pointer, e.detail) for e in found.errors] == [
        ("/clearance/readings/1", '"4" has no unit. Write 4 in.'),
        ("", "Found a list."),
    ]


def test_a_kind_that_does_not_exist_cannot_be_raised():
    with pytest.raises(KeyError):
        ProblemError("no-such-kind", "x")
