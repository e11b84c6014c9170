"""Logs as events with fields: one JSON object a line, on standard error."""

from __future__ import annotations

import logging
import sys
from typing import Any

import msgspec
import structlog


def configure(stream: Any = None) -> None:  # noqa: ANN401 - any binary stream
    """Set structlog up for the whole process."""
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(serializer=_dumps),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.BytesLoggerFactory(stream or sys.stderr.buffer),
        cache_logger_on_first_use=True,
    )


def _dumps(event: Any, **_: Any) -> bytes:  # noqa: ANN401
    return msgspec.json.encode(event, enc_hook=str)
