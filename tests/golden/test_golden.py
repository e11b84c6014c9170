"""Whole answers, compared exactly; `python -m tests.golden.rewrite` writes them anew."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.contract.ask import Service
from tests.golden.cases import ANSWERS, cases, record

CASES = cases()


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    asked = Service()
    yield asked
    asked.close()


@pytest.mark.parametrize("name", CASES)
def test_an_answer_is_what_it_was(service: Service, name: str):
    assert record(service, *CASES[name]) == (ANSWERS / f"{name}.json").read_text()


def test_every_file_has_its_case():
    assert {file.stem for file in ANSWERS.glob("*.json")} == CASES.keys()
