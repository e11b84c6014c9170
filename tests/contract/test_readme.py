"""README's walkthroughs, run as written against a real server on a free port."""

from __future__ import annotations

import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
WALKTHROUGHS = re.findall(
    r"<!-- walkthrough -->\n```sh\n(.*?)```\n```text\n(.*?)```",
    (ROOT / "README.md").read_text(),
    re.DOTALL,
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    command = [str(Path(sys.executable).parent / "gapwright"), "serve", "--port", "0"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as server:
        assert server.stdout is not None
        found = server.stdout.readline().split()[-1]
        _wait(f"{found}/readyz")
        yield found
        server.terminate()


def _wait(url: str) -> None:
    for _ in range(100):
        try:
            with urllib.request.urlopen(url, timeout=1):
                return
        except OSError:
            time.sleep(0.05)
    raise AssertionError(f"{url} did not answer")


def test_readme_has_a_walkthrough_for_each_caller():
    assert len(WALKTHROUGHS) >= 3


@pytest.mark.parametrize(("script", "expected"), WALKTHROUGHS)
def test_a_walkthrough_prints_what_readme_says(script: str, expected: str, address: str):
    script = script.replace("http://127.0.0.1:8642", address)
    script = script.replace(".venv/bin/", f"{Path(sys.executable).parent}/")
    ran = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.stdout == expected, ran.stderr
