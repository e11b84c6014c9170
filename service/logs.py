"""Logs as events with fields: one JSON object a line, on standard error."""

from __future__ import annotations

import logging
import sys
from collections.abc import MutableMapping
from datetime import UTC, datetime
from typing import Any

import msgspec

from service.lean import without

with without("rich"):
    import structlog


def configure(stream: Any = None) -> None:  # noqa: ANN401 - any binary stream
    """Set structlog up for the whole process."""
    structlog.configure(
        processors=[_line],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.BytesLoggerFactory(stream or sys.stderr.buffer),
        cache_logger_on_first_use=True,
    )


def _line(logger: Any, level: str, event: MutableMapping[str, Any]) -> bytes:  # noqa: ANN401
    """Return an event as a line: one processor, since every request is logged."""
    if "exc_info" in event:
        event = structlog.processors.format_exc_info(logger, level, event)
    event["level"] = level
    event["timestamp"] = datetime.now(UTC)
    return _encoder.encode(event)


_encoder = msgspec.json.Encoder(enc_hook=str)
