from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import httpx
import pytest

OPENAPI = Path(__file__).parents[2] / "openapi"
CLEARANCE = {"readings": ["4 1/2 in"]}


@pytest.fixture(scope="session")
def url() -> Iterator[str]:
    """The address of a server on a free port."""
    command = [sys.executable, "-m", "gapwright", "serve", "--port", "0"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as server:
        assert server.stdout is not None
        yield server.stdout.readline().split()[-1]
        server.terminate()


@pytest.fixture(scope="session")
def expected(url: str) -> dict[str, Any]:
    """What a client is to print: the same calls, made without one."""

    def post(path: str, body: Any) -> httpx.Response:
        return httpx.post(url + path, json=body, timeout=60)

    def example(name: str) -> Any:
        return json.loads((OPENAPI / "examples" / f"{name}.json").read_bytes())

    materials = {"perimeter": "90 ft", "clearance": CLEARANCE, "joining": "ties"}
    roof = {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"}
    lines = post("/v1/materials", materials).json()["result"]["lines"]
    layout = post("/v1/layout", example("layout-block")).json()["result"]
    sizing = post("/v1/sizing", {"clearance": CLEARANCE}).json()["result"]
    house = example("quote-house")
    return {
        "sizing": sizing["strip"]["width"]["text"],
        "materials": {line["item"]: line["packs"]["count"] for line in lines if line["packs"]},
        "suitability": post("/v1/suitability", roof).json()["result"]["verdict"],
        "layout": [piece["cut_length"]["text"] for piece in layout["pieces"]],
        "drawing": _digest(post("/v1/layout/drawing", example("layout-block"))),
        "quote": post("/v1/quote", house).json()["result"]["price"]["total"],
        "sheet": _digest(post("/v1/quote/crew-sheet", house)),
        "batch": [200, 422],
        "refusal": [422, "/clearance/readings/0"],
    }


def _digest(answer: httpx.Response) -> str:
    assert answer.status_code == 200
    return sha256(answer.content).hexdigest()
