from __future__ import annotations

import io
import json
from collections.abc import Iterator

import pytest
import structlog
from gapwright import logs


@pytest.fixture
def stream() -> Iterator[io.BytesIO]:
    before = structlog.get_config()
    written = io.BytesIO()
    logs.configure(written)
    yield written
    structlog.configure(**before)


def lines(stream):
    return [json.loads(line) for line in stream.getvalue().splitlines()]


def test_an_event_is_one_line_of_json_with_its_fields(stream):
    structlog.get_logger().info("request", path="/v1/sizing", status=200)
    (line,) = lines(stream)
    assert (line["event"], line["path"], line["status"]) == ("request", "/v1/sizing", 200)
    assert line["level"] == "info"
    assert line["timestamp"].endswith("Z")


def test_a_line_break_in_a_field_starts_no_new_line(stream):
    structlog.get_logger().info("request", path="/a\n{}\r\n\u2028b")
    assert lines(stream)[0]["path"] == "/a\n{}\r\n\u2028b"


def test_a_failure_carries_its_cause(stream):
    try:
        raise RuntimeError("the roof is wet")
    except RuntimeError:
        structlog.get_logger().exception("request failed")
    (line,) = lines(stream)
    assert line["level"] == "error"
    assert "the roof is wet" in line["exception"]


def test_what_json_does_not_know_is_written_as_text(stream):
    structlog.get_logger().info("started", folder=logs.sys, at=1 + 2j)
    assert lines(stream)[0]["at"] == "(1+2j)"


def test_debugging_is_not_logged(stream):
    structlog.get_logger().debug("detail")
    assert lines(stream) == []
