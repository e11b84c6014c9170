from __future__ import annotations

import logging
from collections.abc import Iterator
from typing import Any

import pytest
import structlog

from tests.contract.ask import CONTRACT, Service


@pytest.fixture(scope="session")
def service() -> Iterator[Service]:
    asked = Service()
    yield asked
    asked.close()


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    return CONTRACT


@pytest.fixture(scope="module", autouse=True)
def quiet() -> Iterator[None]:
    """Log only what fails: thousands of lines of answered requests would hide it."""
    before = structlog.get_config()
    structlog.configure(
        processors=[structlog.processors.format_exc_info, structlog.processors.LogfmtRenderer()],
        wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR),
    )
    yield
    structlog.configure(**before)
