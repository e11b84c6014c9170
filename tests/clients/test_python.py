"""The contract as openapi-python-client reads it, with its default settings."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.clients.conftest import OPENAPI

CALLS = Path(__file__).with_name("calls.py")
BIN = Path(sys.executable).parent


def run(*command: str | Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a command of this environment and return what it printed."""
    path = f"{BIN}{os.pathsep}{os.environ['PATH']}"  # the generator calls ruff
    environment = os.environ | {"PATH": path} | more
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the generated package, which was generated without a warning."""
    folder = tmp_path_factory.mktemp("client") / "generated"
    contract = OPENAPI / "openapi.json"
    generator = BIN / "openapi-python-client"
    done = run(generator, "generate", "--path", contract, "--output-path", folder)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "arning" not in done.stdout + done.stderr
    return folder


def test_the_client_and_its_use_pass_strict_type_checks(generated: Path):
    options = ("--strict", "--config-file=", "--cache-dir", str(generated / ".mypy_cache"))
    done = run(
        BIN / "mypy", *options, generated / "gapwright_client", CALLS, MYPYPATH=str(generated)
    )
    assert done.returncode == 0, done.stdout


def test_every_call_answers_as_without_the_client(
    generated: Path, url: str, expected: dict[str, Any]
):
    done = run(sys.executable, CALLS, url, PYTHONPATH=str(generated))
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == expected
