"""Logs as events with fields: one JSON object a line, on standard error."""

from __future__ import annotations

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
        wrapper_class=_Logger,
        logger_factory=structlog.BytesLoggerFactory(stream or sys.stderr.buffer),
        cache_logger_on_first_use=True,
    )


class _Logger(structlog.BoundLoggerBase):
    """Tells events that stand in the log always; what is for a debugger has no place in it.

    Every request is an event, so there is one step from it to its line, where structlog's ready
    loggers take four.
    """

    def debug(self, event: str, **fields: Any) -> None:  # noqa: ANN401 - any value of a field
        """Tell nothing."""

    def info(self, event: str, **fields: Any) -> None:  # noqa: ANN401
        """Tell what happened."""
        self._tell("info", event, fields)

    def error(self, event: str, **fields: Any) -> None:  # noqa: ANN401
        """Tell what went wrong."""
        self._tell("error", event, fields)

    def exception(self, event: str, **fields: Any) -> None:  # noqa: ANN401
        """Tell what went wrong, with the exception that is being handled."""
        self._tell("error", event, {"exc_info": True, **fields})

    def _tell(self, level: str, event: str, fields: dict[str, Any]) -> None:
        line: Any = {**self._context, **fields, "event": event}
        try:
            for processor in self._processors:
                line = processor(self._logger, level, line)
        except structlog.DropEvent:
            return
        self._logger.msg(line)


def _line(logger: Any, level: str, event: MutableMapping[str, Any]) -> bytes:  # noqa: ANN401
    """Return an event as a line: one processor, since every request is logged."""
    if "exc_info" in event:
        event = structlog.processors.format_exc_info(logger, level, event)
    event["level"] = level
    event["timestamp"] = datetime.now(UTC)
    return _encoder.encode(event)


_encoder = msgspec.json.Encoder(enc_hook=str)
