"""Requests a second of two short calls, beside a bare echo of the same bytes.

Two server processes are started as users start them (uvicorn): the service, and an echo that reads
a body and returns an answer of the same length from memory. This process asks both over loopback
on kept connections, in alternating rounds. No request comes twice, so that no cache answers for
the calculation. Run: python -m tests.load.bench_served
"""

from __future__ import annotations

import asyncio
import multiprocessing
import random
import socket
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from gapwright.serve import serve
from litestar import Litestar, Request, Response, post

from tests.history import RULES as HISTORY

ROUNDS = 9
REQUESTS = 600
CONNECTIONS = 8


def sizing(chance: random.Random) -> bytes:
    """Return a request of three random readings."""
    readings = ",".join(f'"{chance.randrange(2000, 6000) / 1000} in"' for _ in range(3))
    return b'{"clearance":{"readings":[%b]}}' % readings.encode()


def materials(chance: random.Random) -> bytes:
    """Return a request of a random perimeter and two random readings."""
    readings = ",".join(f'"{chance.randrange(2000, 6000) / 1000} in"' for _ in range(2))
    return b'{"perimeter":"%.2f ft","clearance":{"readings":[%b]},"joining":"%b"}' % (
        chance.randrange(6_000, 40_000) / 100,
        readings.encode(),
        chance.choice((b"rings", b"ties")),
    )


def main() -> None:
    """Print requests a second and ratios."""
    for path, make in (("/v1/sizing", sizing), ("/v1/materials", materials)):
        with served(_serve_ours) as ours:
            length = asyncio.run(_answer_length(ours, path, make(random.Random(0))))
            with served(_serve_echo, path, length) as bare:
                found = asyncio.run(_rounds(ours, bare, path, make))
        ratios = [ours_s / bare_s for ours_s, bare_s in found]
        print(
            f"{path}: {statistics.median(one for one, _ in found):,.0f} requests a second, echo"
            f" {statistics.median(two for _, two in found):,.0f}; ratio"
            f" {statistics.median(ratios):.2f} from {min(ratios):.2f} to {max(ratios):.2f}"
            f" in {len(ratios)} rounds",
            file=sys.stdout,
        )


async def _rounds(
    ours: int, bare: int, path: str, make: Callable[[random.Random], bytes]
) -> list[tuple[float, float]]:
    """Return the requests a second of both servers in each round, after one to warm up."""
    chance = random.Random(11)
    found = []
    for _ in range(ROUNDS + 1):
        bodies = [make(chance) for _ in range(REQUESTS)]
        found.append((await _rate(ours, path, bodies), await _rate(bare, path, bodies)))
    return found[1:]


async def _rate(port: int, path: str, bodies: list[bytes]) -> float:
    """Return the requests a second that a server answers, over several connections."""
    lots = [bodies[at::CONNECTIONS] for at in range(CONNECTIONS)]
    streams = [await asyncio.open_connection("127.0.0.1", port) for _ in lots]
    started = time.perf_counter()
    await asyncio.gather(
        *(_converse(*stream, path, lot) for stream, lot in zip(streams, lots, strict=True))
    )
    took = time.perf_counter() - started
    for _, writer in streams:
        writer.close()
    return len(bodies) / took


async def _converse(
    reader: asyncio.StreamReader, writer: asyncio.StreamWriter, path: str, lot: list[bytes]
) -> int:
    """Ask one request after the other, and return the length of the last answer."""
    head = b"POST %b HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\n" % path.encode()
    length = 0
    for body in lot:
        writer.write(b"%bcontent-length: %d\r\n\r\n%b" % (head, len(body), body))
        answer = await reader.readuntil(b"\r\n\r\n")
        assert answer.startswith(b"HTTP/1.1 200"), answer
        length = int(answer.lower().split(b"content-length:")[1].split(b"\r\n")[0])
        await reader.readexactly(length)
    return length


async def _answer_length(port: int, path: str, body: bytes) -> int:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    try:
        return await _converse(reader, writer, path, [body])
    finally:
        writer.close()


@contextmanager
def served(start: Callable[..., None], *arguments: Any) -> Iterator[int]:
    """Run a server in a process of its own; gives its port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    process = multiprocessing.get_context("spawn").Process(target=start, args=(port, *arguments))
    process.start()
    try:
        _await_port(port)
        yield port
    finally:
        process.terminate()
        process.join()


def _await_port(port: int) -> None:
    for _ in range(1000):
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.02)
        else:
            return
    raise TimeoutError(port)


def _serve_ours(port: int) -> None:
    sys.stdout = sys.stderr = Path("/dev/null").open("w")  # noqa: SIM115 - the log, for good
    serve("127.0.0.1", port, HISTORY)


def _serve_echo(port: int, path: str, length: int) -> None:
    answer = b"x" * length

    @post(path, status_code=200)
    async def echo(request: Request[Any, Any, Any]) -> Response[bytes]:
        await request.body()
        return Response(answer, media_type="application/json")

    app = Litestar([echo], openapi_config=None, logging_config=None)
    uvicorn.run(app, port=port, log_config=None, access_log=False, server_header=False)


if __name__ == "__main__":
    main()
