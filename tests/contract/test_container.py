"""The container file: what can be said of it without an engine to build it.

Its structure is linted here, and its install steps are run as they stand in a new virtual
environment. The build itself, the user, and the read-only file system have not been tried.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from gapwright.rulesets.ledger import read_ledger

ROOT = Path(__file__).resolve().parents[2]
LINES = re.sub(r"\\\n\s*", "", (ROOT / "Dockerfile").read_text()).splitlines()
STEPS = [line.split(maxsplit=1) for line in LINES if line and not line.startswith("#")]
COPIED = [word for verb, rest in STEPS if verb == "COPY" for word in rest.split()[:-1]]


def said(verb: str) -> list[str]:
    return [rest for found, rest in STEPS if found == verb]


def test_each_base_image_is_pinned_to_a_patch_version():
    images = [rest.split()[0] for rest in said("FROM")]
    assert images
    assert all(re.fullmatch(r"python:3\.\d+\.\d+-slim-\w+", image) for image in images)


def test_it_runs_as_a_user_without_a_name_to_look_up():
    assert said("USER") == ["10001"]
    last_root_step = max(i for i, (verb, _) in enumerate(STEPS) if verb == "RUN")
    assert [verb for verb, _ in STEPS].index("USER") > last_root_step


def test_it_asks_itself_whether_it_is_ready_and_writes_no_byte_code():
    assert len(said("HEALTHCHECK")) == 1
    assert "/readyz" in said("HEALTHCHECK")[0]
    assert any("PYTHONDONTWRITEBYTECODE=1" in env for env in said("ENV"))


def test_entry_point_and_command_are_in_exec_form():
    assert said("ENTRYPOINT") == ['["gapwright"]']
    assert said("CMD")[-1].startswith('["serve"')


def test_everything_copied_in_exists_and_passes_the_ignore_file():
    ignore = (ROOT / ".dockerignore").read_text().splitlines()
    kept = {line[1:] for line in ignore if line.startswith("!")}
    for name in COPIED:
        if not name.startswith(("--", "/")):
            assert (ROOT / name).exists()
            assert name in kept


def test_dependencies_are_held_to_the_lock_file():
    installs = [run for run in said("RUN") if "pip install" in run]
    assert installs
    assert all("-c .ci/lock.txt" in run for run in installs)


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an environment made by the file's own install steps, in another place."""
    place = tmp_path_factory.mktemp("opt") / "gapwright"
    for run in said("RUN"):
        if "/opt/gapwright" in run:
            words = shlex.split(run.replace("/opt/gapwright", str(place)))
            words[0] = sys.executable if words[0] == "python" else words[0]
            subprocess.run(words, cwd=ROOT, check=True, capture_output=True, timeout=300)
    return place


def test_its_install_steps_give_a_service_with_rules_and_contract(installed: Path):
    gapwright = installed / "bin" / "gapwright"
    printed = run([gapwright, "openapi"], installed)
    assert printed.stdout == (ROOT / "openapi" / "openapi.json").read_text()
    shipped = next(installed.glob("lib/*/site-packages/gapwright/_shipped/rules"))
    latest = [list(versions.values())[-1] for versions in read_ledger(shipped).values()]
    for record in latest:
        file = shipped / record.id / f"{record.version}.yaml"
        checked = run([gapwright, "check", file], installed)
        assert checked.returncode == 0, checked.stderr


def run(command: list[object], place: Path) -> subprocess.CompletedProcess[str]:
    words = [str(word) for word in command]
    return subprocess.run(
        words, cwd=place, capture_output=True, text=True, timeout=120, check=False
    )
