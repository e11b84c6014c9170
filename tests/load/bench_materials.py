"""How many materials requests are answered for each that a bare echo answers, in one run.

Both applications run in this process, without a socket, on the same request and answer bytes; the
echo reads the body and returns the answer from memory. Rounds alternate, so that a machine that
slows down slows both. Run: python -m tests.load.bench_materials
"""

from __future__ import annotations

import asyncio
import io
import statistics
import sys
import time
from typing import Any

from litestar import Litestar, Request, Response, post

from service import logs
from service.api.app import create_app

ROUNDS = 15
REQUESTS = 300


def bodies() -> list[bytes]:
    """Return varied requests, so that no cache answers for the calculation."""
    return [
        b'{"perimeter":"%d ft","clearance":{"readings":["%d 1/2 in","%d 1/4 in"]},"joining":"%s"}'
        % (60 + n % 140, 3 + n % 5, 3 + n % 5, b"rings" if n % 2 else b"ties")
        for n in range(REQUESTS)
    ]


def echo(answer: bytes) -> Litestar:
    """Return an application that reads a body and answers with fixed bytes."""

    @post("/v1/materials", status_code=200)
    async def say(request: Request[Any, Any, Any]) -> Response[bytes]:
        await request.body()
        return Response(answer, media_type="application/json")

    return Litestar([say], openapi_config=None, logging_config=None)


async def ask(app: Any, body: bytes) -> bytes:
    """Return the body that an application answers with."""
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/v1/materials",
        "raw_path": b"/v1/materials",
        "query_string": b"",
        "root_path": "",
        "headers": [
            (b"host", b"localhost"),
            (b"content-type", b"application/json"),
            (b"content-length", str(len(body)).encode()),
        ],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 2),
    }
    answered: list[bytes] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.body":
            answered.append(message["body"])

    await app(scope, receive, send)
    return b"".join(answered)


async def timed(app: Any, requests: list[bytes]) -> float:
    """Return the seconds that an application takes for all requests."""
    started = time.perf_counter()
    for body in requests:
        await ask(app, body)
    return time.perf_counter() - started


async def ratios(rounds: int = ROUNDS) -> list[float]:
    """Return, for each round, our requests a second as a part of the echo's."""
    logs.configure(io.BytesIO())
    ours, requests = create_app(), bodies()
    answer = await ask(ours, requests[0])
    bare = echo(answer)
    await timed(ours, requests)
    await timed(bare, requests)
    return [await timed(bare, requests) / await timed(ours, requests) for _ in range(rounds)]


def main() -> None:
    """Print the ratio."""
    found = asyncio.run(ratios())
    print(
        f"materials / echo, requests a second: median {statistics.median(found):.2f},"
        f" from {min(found):.2f} to {max(found):.2f} in {len(found)} rounds",
        file=sys.stdout,
    )


if __name__ == "__main__":
    main()
