"""Serve the application with uvicorn, in one process.

With one process, signals and changed rule files reach the application directly. For more
throughput, run several instances behind a load balancer.
"""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import uvicorn

from gapwright import logs
from gapwright.api.app import create_app
from gapwright.api.settings import Settings

_HELLO = """\
gapwright is listening on {url}
  docs  {url}/docs
  try   curl -s {url}/v1/materials -H 'content-type: application/json' \\
          -d '{{"perimeter": "90 ft", "clearance": {{"readings": ["4 1/2 in"]}}}}'
"""


def serve(host: str, port: int, rules: Path, price_book: str = "demo") -> int:
    """Serve until interrupted, and return the exit status (1 if the address is unavailable)."""
    logs.configure()
    try:
        listener = _listen(host, port)
    except OSError as error:
        print(f"gapwright: cannot listen on {host}:{port}: {error.strerror}.", file=sys.stderr)
        return 1
    config = uvicorn.Config(
        create_app(Settings(rules=rules, default_pricebook=price_book)),
        log_config=None,
        access_log=False,
        server_header=False,
        lifespan="on",
        timeout_graceful_shutdown=10,
    )
    url = _url(host, listener.getsockname()[1])
    print(_HELLO.format(url=url), end="", flush=True)
    uvicorn.Server(config).run(sockets=[listener])
    return 0


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(2048)
    except OSError:
        listener.close()
        raise
    return listener


def _url(host: str, port: int) -> str:
    shown = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(host, f"[{host}]" if ":" in host else host)
    return f"http://{shown}:{port}"
