"""How a folder of 5,000 companies starts, loads and fills the memory, as ratios in one run.

A real server process is timed from its start until it is ready, in turn on the shipped folder and
on the large one, so that a machine that slows down slows both. The loader is timed by files and by
lines, in processor time. Run: python -m tests.load.bench_shelf [companies] [asked]
"""

from __future__ import annotations

import hashlib
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import patch

import httpx
from gapwright.canonical import canonical
from gapwright.rulesets import kind
from gapwright.rulesets.build.build import RULE_SETS, build
from gapwright.rulesets.ledger import FILE
from gapwright.rulesets.overlay import lay
from gapwright.rulesets.reader import Document, read
from gapwright.rulesets.resolve import resolve
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY

COMPANIES = 5_000
ASKED = 1_000
ROUNDS = 5
BROKEN = 50
FIRST = "company-00000"
COMPANY = """\
id: company-00000
version: 1.0.0
effective: 2026-02-01
status: published
title: An invented company
change: First version.
approved_by: Nobody
based_on: baseline@1.0.0

values:
  overlap_length:
    value: 8 in
    source: from-memory
  mesh_margin:
    value: 2 in
    description: As the baseline says.

tools:
  ladder_pad:
    description: Pad under the ladder
    need: helpful
    source: from-memory

cautions:
  own_note:
    severity: notice
    text: Call the office before the first cut.
    source: from-memory
"""
JOB = {"perimeter": "90 ft", "clearance": {"readings": ["4 1/2 in"]}}


def name(at: int) -> str:
    """Return the name of one of the companies."""
    return f"company-{at:05}"


def sealed(content: dict[str, Any]) -> bytes:
    """Return the bytes that the digest of a content is taken of."""
    seen: list[bytes] = []
    with patch.object(kind, "canonical", lambda data: seen.append(canonical(data)) or seen[-1]):
        RULE_SETS.digest(content)
    return seen[0]


def generate(folder: Path, companies: int, broken: int = 0) -> None:
    """Fill a folder with the shipped rule sets and companies, the last of them broken."""
    shutil.copytree(HISTORY, folder)
    shelf = Shelf(folder)
    base = shelf.load(shelf.ledger["baseline"]["1.0.0"]).content
    whole = sealed(lay(base, read(COMPANY.encode(), "company.yaml").tree))
    lines = []
    for at in range(companies):
        own = whole.replace(FIRST.encode(), name(at).encode())
        day = f"2026-02-01 sha256:{hashlib.sha256(own).hexdigest()}"
        lines.append(f"published {name(at)}@1.0.0 effective {day}\n")
        place = folder / name(at)
        place.mkdir()
        text = COMPANY.replace(FIRST, name(at))
        if at >= companies - broken:
            text = text.replace("value: 8 in", "value: 8 lb")
        (place / "1.0.0.yaml").write_text(text, encoding="utf-8")
    with (folder / FILE).open("a", encoding="utf-8") as ledger:
        ledger.writelines(lines)
    Shelf(folder).pick(name(0), date(2026, 3, 1))


@contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[str], httpx.Client, float]]:
    """Yield a server process on a folder, a client of it, and the seconds until it was ready."""
    command = [sys.executable, "-m", "gapwright", "serve", "--port", "0", "--rules", str(folder)]
    started = time.perf_counter()
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as process:
        assert process.stdout is not None
        url = next(line.split()[-1] for line in process.stdout if "listening on" in line)
        with httpx.Client(base_url=url, trust_env=False, timeout=60) as client:
            while client.get("/readyz").status_code != 200:
                time.sleep(0.005)
            yield process, client, time.perf_counter() - started
        process.terminate()


def memory_mb(process: subprocess.Popen[str]) -> float:
    """Return the resident memory of a process."""
    status = Path(f"/proc/{process.pid}/status").read_text(encoding="utf-8")
    kb = next(line.split()[1] for line in status.splitlines() if line.startswith("VmRSS"))
    return int(kb) / 1024


def start_ratio(large: Path) -> str:
    """Return how much longer the large folder takes from start to ready than the shipped one."""
    found: dict[Path, list[float]] = {HISTORY: [], large: []}
    for _ in range(ROUNDS):
        for folder, seconds in found.items():
            with serving(folder) as (_, _, assumed):
                seconds.append(assumed)
    small, big = (statistics.median(seconds) for seconds in found.values())
    return f"start to ready: {big / small:.2f} of the shipped folder's ({small:.2f} s here)"


def ask(client: httpx.Client, company: str) -> int:
    """Return the status of the answer to a job under a company's rules."""
    return client.post("/v1/materials", json={**JOB, "ruleset": company}).status_code


def memory_ratios(large: Path, asked: int) -> Iterator[str]:
    """Yield how the memory grows while different companies are asked for, and the first asks."""
    with serving(large) as (process, client, _):
        assert ask(client, "baseline@1.0.0") == 200
        begun = memory_mb(process)
        yield f"memory when ready: {begun:.0f} MB"
        at, spent = 0, 0.0
        for until in sorted({min(asked, n) for n in (128, 256, 512, asked)}):
            started = time.perf_counter()
            assert {ask(client, name(n)) for n in range(at, until)} == {200}
            spent += time.perf_counter() - started
            at = until
            grown = memory_mb(process)
            yield f"memory after {until} companies: {grown / begun:.2f} of that ({grown:.0f} MB)"
        started = time.perf_counter()
        for _ in range(200):
            ask(client, name(asked - 1))
        again = (time.perf_counter() - started) / 200
        yield f"a first ask of a company: {spent / asked / again:.0f} of an ask of one in memory"


def broken_ratio(large: Path, companies: int) -> str:
    """Return how first asks of sound companies fare while broken ones are asked for as well."""
    with serving(large) as (_, client, _):
        assert ask(client, name(companies - 1)) != 200
        assert ask(client, name(0)) == 200
        alone = paced(lambda at: ask(client, name(at)), range(1, 41))
        stop = threading.Event()

        def hammer() -> None:
            with httpx.Client(base_url=client.base_url, trust_env=False, timeout=60) as other:
                at = 0
                while not stop.is_set():
                    assert ask(other, name(companies - 1 - at % BROKEN)) != 200
                    at += 1

        thread = threading.Thread(target=hammer)
        thread.start()
        beside = paced(lambda at: ask(client, name(at)), range(41, 81))
        kept = paced(lambda _: ask(client, name(0)), range(200))
        stop.set()
        thread.join()
        calm = paced(lambda _: ask(client, name(0)), range(200))
    return (
        f"beside broken companies: a first ask {beside / alone:.2f},"
        f" an ask of one in memory {kept / calm:.2f} of the time alone"
    )


def paced(call: Callable[[int], int], asked: range) -> float:
    """Return the median seconds of calls that must all be answered."""
    assumed = []
    for at in asked:
        started = time.perf_counter()
        assert call(at) == 200
        assumed.append(time.perf_counter() - started)
    return statistics.median(assumed)


def growth_by_files(large: Path) -> Iterator[str]:
    """Yield the processor time of a shelf on a ledger of so many lines, for each line."""
    lines = (large / FILE).read_text(encoding="utf-8").splitlines(keepends=True)
    first = 0.0
    for part in (8, 4, 2, 1):
        count = len(lines) // part
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / FILE).write_text("".join(lines[:count]), encoding="utf-8")
            each = best(lambda folder=folder: Shelf(Path(folder))) / count
        first = first or each
        yield f"a shelf of {count} versions: {each / first:.2f} of the time a line"


def growth_by_lines() -> Iterator[str]:
    """Yield the processor time of reading and building a rule file, for each of its lines."""
    text = (HISTORY / "baseline" / "1.0.0.yaml").read_text(encoding="utf-8")
    first_read = first_build = 0.0
    for more in (0, 500, 1_000, 2_000):
        extra = "".join(
            f"  part_{at}:\n    description: Part {at}\n    estimate:\n"
            f"      need: {{driver: perimeter, one_per: {at % 9 + 1} ft}}\n"
            "    pack: {name: box, holds: 100}\n    source: from-memory\n"
            for at in range(more // 6)
        )
        longer = text.replace("\ntools:\n", f"\n{extra}\ntools:\n", 1).encode()
        count = longer.count(b"\n")
        document = read(longer, "longer.yaml")
        reading = best(lambda longer=longer: read(longer, "longer.yaml")) / count
        building = (
            best(lambda document=document: build(resolve(document, nothing, RULE_SETS))) / count
        )
        first_read, first_build = first_read or reading, first_build or building
        yield (
            f"a file of {count} lines: {reading / first_read:.2f} of the time a line to read,"
            f" {building / first_build:.2f} to build"
        )


def nothing(name: str) -> Document:
    """Find no rule set."""
    raise KeyError(name)


def best(call: Callable[[], object]) -> float:
    """Return the least processor seconds of three calls."""
    assumed = []
    for _ in range(3):
        started = time.process_time()
        call()
        assumed.append(time.process_time() - started)
    return min(assumed)


def main(arguments: list[str]) -> None:
    """Print all ratios."""
    companies = int(arguments[0]) if arguments else COMPANIES
    asked = min(int(arguments[1]) if arguments[1:] else ASKED, companies - BROKEN)
    with tempfile.TemporaryDirectory() as made:
        large = Path(made) / "rules"
        generate(large, companies, BROKEN)
        size = sum(path.stat().st_size for path in large.rglob("*.yaml")) / 1e6
        print(json.dumps({"companies": companies, "broken": BROKEN, "MB": round(size, 1)}))
        print(start_ratio(large), flush=True)
        for line in (*growth_by_files(large), *growth_by_lines()):
            print(line, flush=True)
        print(broken_ratio(large, companies), flush=True)
        for line in memory_ratios(large, asked):
            print(line, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
