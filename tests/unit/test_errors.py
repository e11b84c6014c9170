from __future__ import annotations

import pytest
from gapwright.errors import Fault, GapwrightError, InvalidRequestError


@pytest.mark.parametrize(
    ("path", "pointer"),
    [
        ((), ""),
        (("clearance", "readings", 0), "/clearance/readings/0"),
        (("a/b", "m~n"), "/a~1b/m~0n"),
        (("~1",), "/~01"),
        (("",), "/"),
        ((" ", "é"), "/ /é"),
    ],
)
def test_a_place_is_told_as_a_json_pointer(path, pointer):
    assert Fault(path=path, problem="Wrong.").pointer == pointer


@pytest.mark.parametrize("name", ["x" * 201, "x" * 1_000_000])
def test_a_place_under_a_name_too_long_to_tell_back_is_told_by_what_holds_it(name):
    assert Fault(path=("zones", name, 0), problem="Wrong.").pointer == "/zones"
    assert Fault(path=("zones", name[:200]), problem="Wrong.").pointer == f"/zones/{'x' * 200}"


def test_the_detail_is_the_problem_and_then_the_remedy():
    assert Fault(path=(), problem="Found 4.", remedy="Write 4 in.").detail == "Found 4. Write 4 in."
    assert Fault(path=(), problem="Found 4.").detail == "Found 4."


def test_an_error_keeps_every_fault_and_names_them_all():
    faults = [Fault(path=("a",), problem="One."), Fault(path=("b",), problem="Two.")]
    error = InvalidRequestError(faults)
    assert error.faults == tuple(faults)
    assert str(error) == "/a: One.; /b: Two."
    assert isinstance(error, GapwrightError)
