"""How many materials requests a server answers for each that a bare echo on it answers.

Two processes are started alike, each with uvicorn: the service, and an echo that reads a body and
returns an answer of the same bytes from memory. This process asks both over loopback, on kept
connections, in rounds that alternate. Run: python -m tests.load.bench_served
"""

from __future__ import annotations

import asyncio
import multiprocessing
import socket
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.load.bench_materials import ask, bodies, echo

ROUNDS = 21
CONNECTIONS = 8


def main() -> None:
    """Print the ratio."""
    from service.api.app import create_app

    answer = asyncio.run(ask(create_app(), bodies()[0]))
    with _served(_serve_ours, b"") as ours, _served(_serve_echo, answer) as bare:
        found = asyncio.run(_ratios(ours, bare))
    print(
        f"materials / echo, requests a second through the server: median"
        f" {statistics.median(found):.2f}, from {min(found):.2f} to {max(found):.2f}"
        f" in {len(found)} rounds",
        file=sys.stdout,
    )


async def _ratios(ours: int, bare: int) -> list[float]:
    await _timed(ours)
    await _timed(bare)
    return [await _timed(bare) / await _timed(ours) for _ in range(ROUNDS)]


async def _timed(port: int) -> float:
    """Return the seconds that a server takes for all requests, over several connections."""
    lots = [bodies()[at::CONNECTIONS] for at in range(CONNECTIONS)]
    streams = [await asyncio.open_connection("127.0.0.1", port) for _ in lots]
    started = time.perf_counter()
    await asyncio.gather(
        *(_converse(*stream, lot) for stream, lot in zip(streams, lots, strict=True))
    )
    took = time.perf_counter() - started
    for _, writer in streams:
        writer.close()
    return took


async def _converse(
    reader: asyncio.StreamReader, writer: asyncio.StreamWriter, lot: list[bytes]
) -> None:
    head = b"POST /v1/materials HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\n"
    for body in lot:
        writer.write(b"%bcontent-length: %d\r\n\r\n%b" % (head, len(body), body))
        told = await reader.readuntil(b"\r\n\r\n")
        assert told.startswith(b"HTTP/1.1 200"), told
        length = int(told.lower().split(b"content-length:")[1].split(b"\r\n")[0])
        await reader.readexactly(length)


@contextmanager
def _served(serve: object, answer: bytes) -> Iterator[int]:
    """Run a server in a process of its own; gives its port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    process = multiprocessing.get_context("spawn").Process(target=serve, args=(port, answer))  # type: ignore[arg-type]
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


def _serve_ours(port: int, _: bytes) -> None:
    from service.places import shipped
    from service.serve import serve

    sys.stderr = Path("/dev/null").open("w")  # noqa: SIM115 - the log lines, for all the process's life
    serve("127.0.0.1", port, shipped("rules"))


def _serve_echo(port: int, answer: bytes) -> None:
    import uvicorn

    uvicorn.run(echo(answer), port=port, log_config=None, access_log=False, server_header=False)


if __name__ == "__main__":
    main()
