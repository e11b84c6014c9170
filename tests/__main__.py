"""Run every check of the project: `python -m tests`. Further arguments go to pytest."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
CHECKS: tuple[tuple[str, ...], ...] = (
    ("ruff", "format", "--check", "."),
    ("ruff", "check", "."),
    ("mypy",),
    ("lint-imports",),
)


def main(arguments: list[str]) -> int:
    """Run the checks in turn, all of them, and return 1 when any has failed."""
    failed = []
    for command in (*CHECKS, ("pytest", "-n", "2", "--dist", "loadfile", *arguments)):
        shown = " ".join(command)
        print(f"== {shown}", flush=True)
        started = time.monotonic()
        status = subprocess.run((BIN / command[0], *command[1:]), cwd=ROOT, check=False).returncode
        print(f"   {time.monotonic() - started:.1f} s", flush=True)
        if status:
            failed.append(shown)
    for shown in failed:
        print(f"failed: {shown}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
