from __future__ import annotations

import socket

import pytest
from gapwright.serve import serve

from tests.unit.make import BASELINE


@pytest.fixture
def assumed():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        yield listener.getsockname()[1]


def test_an_address_that_is_taken_is_told_and_ends_with_status_one(assumed, capsys, monkeypatch):
    monkeypatch.setattr("gapwright.serve.logs.configure", lambda: None)
    assert serve("127.0.0.1", assumed, BASELINE.parent.parent) == 1
    assert f"cannot listen on 127.0.0.1:{assumed}" in capsys.readouterr().err


def test_what_is_served_is_what_was_asked_for(monkeypatch):
    seen = []
    monkeypatch.setattr("gapwright.serve.logs.configure", lambda: None)
    monkeypatch.setattr("gapwright.serve.create_app", seen.append)
    monkeypatch.setattr(
        "gapwright.serve.uvicorn.Server.run", lambda *_, sockets: sockets[0].close()
    )
    assert serve("127.0.0.1", 0, BASELINE.parent.parent, "own") == 0
    (settings,) = seen
    assert (settings.rules, settings.default_pricebook) == (BASELINE.parent.parent, "own")
