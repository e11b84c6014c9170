"""Ask the service in-process, as an HTTP client does and without a socket."""

from __future__ import annotations

import asyncio
import json
from datetime import date
from pathlib import Path
from typing import Any

import httpx
from gapwright.api.app import create_app
from gapwright.api.settings import Settings

from tests.history import RULES as HISTORY

TODAY = date(2026, 12, 1)
"""The day on which the service under test believes itself to be: baseline 2.0.0 is in force."""

JSON = {"content-type": "application/json"}
OPENAPI = Path(__file__).parents[2] / "openapi"
CONTRACT: dict[str, Any] = json.loads((OPENAPI / "openapi.json").read_bytes())
"""The contract as it is committed."""

POSTS = tuple(
    path
    for path, item in CONTRACT["paths"].items()
    if "application/json" in item.get("post", {}).get("requestBody", {}).get("content", {})
)
"""The calls that answer a JSON request under a rule set."""

ENVELOPED = tuple(
    path
    for path in POSTS
    if "application/json" in CONTRACT["paths"][path]["post"]["responses"]["200"]["content"]
)
"""Those of them that answer with JSON in the envelope, not with a drawing or a sheet."""

EXAMPLES: dict[str, dict[str, Any]] = {
    path: {
        name: example["value"]
        for name, example in CONTRACT["paths"][path]["post"]["requestBody"]["content"][
            "application/json"
        ]["examples"].items()
    }
    for path in POSTS
}
"""The example requests of each call, by name."""

FIRST: dict[str, Any] = {path: next(iter(examples.values())) for path, examples in EXAMPLES.items()}
FIRST["/v1/rulesets/check"] = {"draft": "id: demo-company"}
"""One request of each call that is quickly answered: to prove a sound draft takes a second."""

SIZING = {"clearance": {"readings": ["4 1/2 in"]}}
"""The least request for a sizing."""

OPERATIONS = ("/livez", "/readyz", "/openapi.json", "/docs", "/", "/problems/not-found")
"""Addresses of operations and documentation; all of them take GET."""


class Service:
    """The service and a client of it, with a loop of their own."""

    def __init__(self, app: Any = None) -> None:
        self.app = app or create_app(Settings(rules=HISTORY), today=lambda: TODAY)
        self._shown: dict[tuple[str, str], httpx.Response] = {}
        self._runner = asyncio.Runner()
        transport = httpx.ASGITransport(app=self.app)  # type: ignore[arg-type]
        self._client = httpx.AsyncClient(transport=transport, base_url="http://service")

    def ask(self, method: str, path: str, body: Any = None, headers: Any = None) -> httpx.Response:
        """Return the answer to a request; a body that is not bytes is sent as JSON."""
        content = body if isinstance(body, bytes) or body is None else json.dumps(body).encode()
        request = self._client.request(method, path, content=content, headers=headers)
        return self._runner.run(request)

    def post(self, path: str, body: Any, **headers: str) -> httpx.Response:
        """Return the answer to a body that is declared as JSON."""
        told = JSON | {name.replace("_", "-"): value for name, value in headers.items()}
        return self.ask("POST", path, body, told)

    def shown(self, path: str, name: str) -> httpx.Response:
        """Return the answer to an example of the contract, asked for once."""
        if (path, name) not in self._shown:
            self._shown[path, name] = self.post(path, EXAMPLES[path][name])
        return self._shown[path, name]

    def messages(self, scope: dict[str, Any], received: list[Any]) -> list[dict[str, Any]]:
        """Return what the application sends for a raw ASGI scope and the messages it receives."""
        sent: list[dict[str, Any]] = []
        waiting = list(received)

        async def receive() -> Any:
            return waiting.pop(0) if waiting else {"type": "http.disconnect"}

        async def send(message: Any) -> None:
            sent.append(message)

        self._runner.run(self.app(scope, receive, send))  # type: ignore[arg-type]
        return sent

    def close(self) -> None:
        """Close the client and its loop."""
        self._runner.run(self._client.aclose())
        self._runner.close()


def http_scope(method: str, path: str, *headers: tuple[bytes, bytes]) -> dict[str, Any]:
    """Return the ASGI scope of a request, with headers byte for byte."""
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": list(headers),
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }


def problem_of(answer: httpx.Response, status: int, ruleset: str | None = None) -> dict[str, Any]:
    """Return a problem document, after checking that it is complete.

    It names `ruleset`: by default that of the service for an invalid request, and otherwise none.
    """
    named = ruleset if ruleset is not None else ("baseline@2.0.0" if status == 422 else "")
    assert answer.status_code == status, answer.text[:500]
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers.get("gapwright-ruleset", "") == named
    assert ("gapwright-ruleset-digest" in answer.headers) is bool(named)
    assert answer.headers["x-request-id"]
    found: dict[str, Any] = answer.json()
    head = found.get("ruleset")
    assert (f"{head['id']}@{head['version']}" if head else "") == named
    assert found["type"].startswith("/problems/")
    assert found["status"] == status
    assert found["title"]
    assert found["detail"]
    return found


def pointers(answer: httpx.Response, ruleset: str | None = None) -> dict[str, str]:
    """Return the faults of an unusable request: what is said at each JSON pointer."""
    faults = problem_of(answer, 422, ruleset)["errors"]
    found = {fault["pointer"]: fault["detail"] for fault in faults}
    assert len(found) == len(faults), "one place is told of twice"
    return found


def value_at(document: Any, pointer: str) -> Any:
    """Return what a JSON pointer (RFC 6901) leads to. Raises LookupError or ValueError."""
    for step in pointer.split("/")[1:]:
        step = step.replace("~1", "/").replace("~0", "~")
        document = document[int(step)] if isinstance(document, list) else document[step]
    return document


def unpacked(sent: list[dict[str, Any]]) -> tuple[int, dict[str, str], bytes]:
    """Return status, headers and body of what an application sent."""
    start = next(message for message in sent if message["type"] == "http.response.start")
    body = b"".join(message.get("body", b"") for message in sent[1:])
    headers = {name.decode(): value.decode("latin-1") for name, value in start["headers"]}
    assert len(headers) == len(start["headers"]), "a header stands twice"
    return start["status"], headers, body
