"""The summary of a quote repeats its figures in the lines that a proposal prints."""

from __future__ import annotations

import pytest
from gapwright import Engine

from tests.contract.ask import EXAMPLES


@pytest.mark.parametrize("name", EXAMPLES["/v1/quote"])
def test_it_says_what_the_quote_says(name):
    found = Engine().quote(EXAMPLES["/v1/quote"][name])["result"]
    summary, price = found["summary"], found["price"]
    assert summary["verdict"] == found["suitability"]["verdict"]
    assert (summary["total"], summary["firm"]) == (price["total"], price["firm"])
    assert summary["currency"] == price["currency"]
    assert (summary["crew"], summary["days"]) == (found["schedule"]["crew"], found["labor"]["days"])
    assert len(summary["materials"]) == len(found["bill"]["order"])
    for line, order in zip(summary["materials"], found["bill"]["order"], strict=True):
        assert line.startswith(f"{order['packs']} × ")
        assert order["description"] in line
    assert len(summary["assumptions"]) == len(found["assumptions"])


def test_an_unsuitable_job_has_a_verdict_only():
    request = {"planes": [{"arrays": [{"perimeter": "90 ft"}]}], "site": {"active_nest": True}}
    summary = Engine().quote(request)["result"]["summary"]
    assert summary["verdict"] == "unsuitable"
    assert summary["total"] is None
    assert not summary["firm"]
    assert summary["materials"] == summary["assumptions"] == []
