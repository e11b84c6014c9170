"""Logs as events with fields: one JSON object a line, on standard error."""

from __future__ import annotations

import logging
import sys
from typing import Any, BinaryIO

import msgspec
import structlog


def configure(stream: BinaryIO | None = None) -> None:
    """Set structlog up for the whole process; events below `info` are dropped."""
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(serializer=_encode),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.BytesLoggerFactory(stream or sys.stderr.buffer),
        cache_logger_on_first_use=True,
    )


def _encode(event: Any, **_: Any) -> bytes:  # noqa: ANN401 - an event holds any values
    # structlog passes `default=`, as json.dumps takes it; msgspec names it otherwise
    return msgspec.json.encode(event, enc_hook=str)
