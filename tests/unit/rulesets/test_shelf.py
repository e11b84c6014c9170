"""The shelf serves what was published, tells what it cannot serve, and is swapped whole."""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from contextlib import asynccontextmanager, contextmanager
from datetime import date
from functools import lru_cache, partial
from pathlib import Path

import httpx
import pytest
import structlog
from gapwright.api import app as app_module
from gapwright.api.app import create_app
from gapwright.api.catalog import Catalogs
from gapwright.api.settings import Settings
from gapwright.publishing.publish import publish, withdraw
from gapwright.rulesets import shelf as shelf_module
from gapwright.rulesets.ledger import FILE, RulesetNotFoundError, WithdrawnError
from gapwright.rulesets.reader import MOST_BYTES, RuleFileError, read
from gapwright.rulesets.shelf import Shelf
from gapwright.rulesets.tables import match

from tests.history import RULES as HISTORY
from tests.unit.folders import HOUSE, add, alter, put, rewrite
from tests.unit.make import house_text, rules_of

DAY = date(2026, 12, 1)
ROOT = Path(__file__).parents[3]


@pytest.fixture(autouse=True)
def quiet():
    """Log nothing, whoever configured the log before."""
    before = structlog.get_config()
    structlog.configure(logger_factory=structlog.ReturnLoggerFactory())
    yield
    structlog.configure(**before)


remembered = lru_cache(maxsize=64)(read)


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    """Parse the same bytes once: each overlay would read its base anew."""
    monkeypatch.setattr(shelf_module, "read", remembered)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("made") / "rules"
    folder.mkdir()
    put(folder, "house", "1.0.0", house_text().replace("id: baseline", "id: house"))
    for name in ("a", "b"):
        add(folder, name)
    return folder


@pytest.fixture
def folder(made, tmp_path):
    """Return a folder with a small root, house@1.0.0, as the default, and overlays a and b."""
    return shutil.copytree(made, tmp_path / "rules")


def pick(shelf, name):
    return shelf.pick(name, DAY)


def refused(call):
    with pytest.raises(RuleFileError) as caught:
        call()
    return caught.value.problems


def test_no_rule_file_is_read_before_it_is_asked_for(folder, monkeypatch):
    read_files = []
    real = shelf_module.read_file
    monkeypatch.setattr(
        shelf_module, "read_file", lambda path, at: read_files.append(path.name) or real(path, at)
    )
    shelf = Shelf(folder)
    assert not read_files
    pick(shelf, "a")
    assert read_files == ["1.0.0.yaml"] * 2


def test_a_version_is_the_same_one_each_time_it_is_asked_for(folder):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    assert pick(shelf, "a@1") is rules
    assert pick(shelf, "a@1.0.0") is rules
    assert rules.values.overlap_length == 8 * 25_400_000
    assert shelf.held(shelf.ledger["a"]["1.0.0"]) is not None
    assert shelf.held(shelf.ledger["b"]["1.0.0"]) is None


def test_a_withdrawn_version_can_be_looked_at_but_not_picked(folder):
    withdraw("a@1.0.0", folder, date(2026, 12, 2))
    shelf = Shelf(folder)
    with pytest.raises(WithdrawnError):
        pick(shelf, "a@1.0.0")
    with pytest.raises(RulesetNotFoundError):
        pick(shelf, "a")
    assert shelf.load(shelf.ledger["a"]["1.0.0"]).name == "a@1.0.0"


def test_what_is_based_on_a_withdrawn_version_is_served_still(folder):
    withdraw("house@1.0.0", folder, date(2026, 12, 2))
    assert pick(Shelf(folder), "a").name == "a@1.0.0"


TAMPERED = [
    ("8 in", "9 in"),
    ("8 in", "8 inn"),
    ("8 in", "203.2 mm"),
    ("title: t", "title: other"),
    ("effective: 2026-12-01", "effective: 2026-11-30"),
    ("id: a", "id: b"),
    ("version: 1.0.0\n", "version: 1.0.1\n"),
    ("values:", "values: {overlap_length: {value: 6 in}}\nvalues:"),
    ("id: a", "\tid: a"),
    ("based_on: house@1.0.0\n", ""),
    ("based_on: house@1.0.0", "based_on: a@1.0.0"),
]


@pytest.mark.parametrize(("old", "new"), TAMPERED)
def test_a_tampered_version_is_refused_and_the_others_go_on(folder, old, new):
    alter(folder, "a", old, new)
    shelf = Shelf(folder)
    assert pick(shelf, "house").name == "house@1.0.0"
    problems = refused(lambda: pick(shelf, "a"))
    assert shelf.problems == problems
    assert {problem.file for problem in problems} == {"a/1.0.0.yaml"}
    assert pick(shelf, "b").name == "b@1.0.0"


@pytest.mark.parametrize("raw", [b"", b"\xff", b"{" * 1000, b"[]", b"- a", b"null"])
def test_a_file_of_any_bytes_is_refused_with_a_problem(folder, raw):
    (folder / "a" / "1.0.0.yaml").write_bytes(raw)
    assert refused(lambda: pick(Shelf(folder), "a"))[0].file == "a/1.0.0.yaml"


def test_a_file_that_is_gone_is_refused_with_a_problem(folder):
    (folder / "a" / "1.0.0.yaml").unlink()
    (problem,) = refused(lambda: pick(Shelf(folder), "a"))
    assert problem.file == "a/1.0.0.yaml"
    assert "No such file" in problem.problem


def test_a_folder_in_the_place_of_a_file_is_refused_with_a_problem(folder):
    (folder / "a" / "1.0.0.yaml").unlink()
    (folder / "a" / "1.0.0.yaml").mkdir()
    assert refused(lambda: pick(Shelf(folder), "a"))


def test_a_pipe_in_the_place_of_a_file_is_refused_at_once(folder):
    (folder / "a" / "1.0.0.yaml").unlink()
    os.mkfifo(folder / "a" / "1.0.0.yaml")
    (problem,) = refused(lambda: pick(Shelf(folder), "a"))
    assert problem.problem == "This is not a regular file."


def test_a_file_that_is_too_long_is_refused_with_a_problem(folder):
    path = folder / "a" / "1.0.0.yaml"
    with path.open("ab") as opened:
        opened.truncate(MOST_BYTES + 2)
    (problem,) = refused(lambda: pick(Shelf(folder), "a"))
    assert "more than" in problem.problem


def test_a_change_is_noticed_though_the_time_and_the_size_are_as_before(folder):
    shelf, path = Shelf(folder), folder / "a" / "1.0.0.yaml"
    [record] = [record for record in shelf.ledger["a"].values() if record.version == "1.0.0"]
    before, stamp = path.stat(), shelf.stamp(record)
    path.write_bytes(path.read_bytes().replace(b"8 in", b"9 in"))
    while path.stat().st_ctime_ns == before.st_ctime_ns:  # its clock goes in steps
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert path.stat().st_size == before.st_size
    assert shelf.stamp(record) != stamp


SAME = [
    ("title: t\n", "# a comment\n\n\ntitle:   t # and one more\n"),
    ("title: t\nchange: c\n", "change: c\ntitle: t\n"),
    ("title: t\n", 'title: "t"\n'),
    ("values: {overlap_length: {value: 8 in}}\n", "values:\n  overlap_length:\n    value: 8 in\n"),
    ("status: published", "status: withdrawn"),
    ("status: published", "status: draft"),
]


@pytest.mark.parametrize(("old", "new"), SAME)
def test_comments_layout_order_of_members_and_status_do_not_make_another_version(folder, old, new):
    before = pick(Shelf(folder), "a").digest
    alter(folder, "a", old, new)
    assert pick(Shelf(folder), "a").digest == before


def test_a_base_that_was_tampered_with_is_the_file_that_is_blamed(folder):
    alter(folder, "house", "value: 20 %", "value: 21 %")
    shelf = Shelf(folder)
    assert {p.file for p in refused(lambda: pick(shelf, "a"))} == {"house/1.0.0.yaml"}


@pytest.mark.parametrize(
    "broken", ["values: 5", "values: {overlap_length: 6}", "cautions: [falls]"]
)
def test_a_base_of_broken_shape_is_a_problem_and_not_a_crash(folder, broken):
    head = "id: house\nversion: 1.0.0\n"
    rewrite(folder / "house" / "1.0.0.yaml", f"{head}{broken}\n")
    assert refused(lambda: pick(Shelf(folder), "a"))


MEMBRANE = """\
      membrane:
        when: {roof_covering: membrane}
        then: {attachment: frame_clips, shape: C}
        source: from-memory
"""


def test_rows_that_decide_in_turn_cannot_change_places_under_one_digest():
    text = house_text().replace("hit_policy: UNIQUE", "hit_policy: FIRST")
    site = {"roof_covering": "membrane", "racking": "rail_mounted"}
    found = {}
    for row in (
        "      rails:\n        when: {racking",
        "      frame_clips:\n        when: {racking",
    ):
        assert text.count(row) == 1
        rules = rules_of(text.replace(row, MEMBRANE + row))
        (hit,) = match(rules.tables["attachment"], site)
        found[hit.row.id] = rules.digest
    assert set(found) == {"membrane", "rails"}
    assert found["membrane"] != found["rails"]


def test_only_so_many_rule_sets_are_held_and_the_first_loaded_goes_first(folder, monkeypatch):
    monkeypatch.setattr(shelf_module, "MOST_LOADED", 2)
    shelf = Shelf(folder)
    first = pick(shelf, "a")
    assert pick(shelf, "a") is first
    pick(shelf, "b")
    pick(shelf, "house")
    assert set(shelf._loaded) == {"b@1.0.0", "house@1.0.0"}
    assert pick(shelf, "a").digest == first.digest


def before_reading(monkeypatch, action):
    """Let `action` take the name of a file's folder each time before the file is read."""
    real = shelf_module.read_file

    def read_file(path, at):
        action(path.parent.name)
        return real(path, at)

    monkeypatch.setattr(shelf_module, "read_file", read_file)


def test_a_version_that_many_ask_for_at_once_is_read_once(folder, monkeypatch):
    asked = []
    gate = threading.Barrier(8)
    shelf = Shelf(folder)
    before_reading(monkeypatch, lambda name: asked.append(name) or time.sleep(0.05))
    found = []

    def ask():
        gate.wait()
        found.append(pick(shelf, "a"))

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 8
    assert asked == ["a", "house"]
    assert len({id(rules) for rules in found}) == 1


def test_a_broken_file_is_not_read_again_until_it_has_changed(folder, monkeypatch):
    """Else whoever asks for a broken company takes the time of all others."""
    asked = []
    before_reading(monkeypatch, asked.append)
    alter(folder, "a", "8 in", "9 in")
    shelf = Shelf(folder)
    problems = [refused(lambda: pick(shelf, "a")) for _ in range(5)]
    assert asked.count("a") == 1
    assert problems == problems[:1] * 5
    alter(folder, "a", "9 in", "8 in")
    assert pick(shelf, "a").name == "a@1.0.0"


@pytest.fixture
def held(folder, monkeypatch):
    """Yield a shelf on which a version is being read in another thread, and does not end."""
    begun, go_on = threading.Event(), threading.Event()

    def wait(name):
        if name == "a":
            begun.set()
            go_on.wait(20)

    shelf = Shelf(folder)
    pick(shelf, "house")
    before_reading(monkeypatch, wait)
    thread = threading.Thread(target=pick, args=(shelf, "a"))
    thread.start()
    assert begun.wait(10)
    yield shelf
    go_on.set()
    thread.join()


@pytest.mark.parametrize(
    "ask",
    [
        lambda shelf: shelf.problems,
        lambda shelf: shelf.fingerprint(),
        lambda shelf: pick(shelf, "house"),
    ],
    ids=["problems", "fingerprint", "what is loaded"],
)
def test_readiness_does_not_wait_for_a_file_that_takes_long(held, ask):
    """It is told in the loop that serves all requests."""
    answered = threading.Thread(target=ask, args=(held,), daemon=True)
    answered.start()
    answered.join(5)
    assert not answered.is_alive()


def test_renewing_without_a_change_keeps_what_is_loaded(folder):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    seen = shelf.fingerprint()
    fresh = shelf.renew()
    assert fresh is not shelf
    assert pick(fresh, "a") is rules
    assert fresh.fingerprint() == seen


def test_renewing_takes_up_an_added_version_and_leaves_the_old_shelf_as_it_was(folder):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    seen = shelf.fingerprint()
    add(folder, "a", "1.1.0", "values: {overlap_length: {value: 9 in}}\n")
    add(folder, "c")
    assert shelf.fingerprint() != seen
    fresh = shelf.renew()
    assert pick(fresh, "a").version == "1.1.0"
    assert pick(fresh, "a@1.0.0") is rules
    assert pick(fresh, "c").name == "c@1.0.0"
    assert pick(shelf, "a") is rules
    with pytest.raises(RulesetNotFoundError):
        pick(shelf, "c")


@pytest.mark.parametrize(("old", "new"), TAMPERED[:3])
def test_renewing_never_puts_a_bad_file_in_the_place_of_a_good_one(folder, old, new):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    seen = shelf.fingerprint()
    alter(folder, "a", old, new)
    assert shelf.fingerprint() != seen
    fresh = shelf.renew()
    assert pick(fresh, "a") is rules
    assert {problem.file for problem in fresh.problems} == {"a/1.0.0.yaml"}
    again = fresh.renew()
    assert pick(again, "a") is rules
    assert again.problems == fresh.problems


def test_renewing_keeps_a_good_version_whose_file_is_gone_and_says_so(folder):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    (folder / "a" / "1.0.0.yaml").unlink()
    fresh = shelf.renew()
    assert pick(fresh, "a") is rules
    assert [problem.file for problem in fresh.problems] == ["a/1.0.0.yaml"]


def test_a_file_that_was_put_right_is_served_again_and_told_of_no_more(folder):
    text = (folder / "a" / "1.0.0.yaml").read_text(encoding="utf-8")
    alter(folder, "a", "8 in", "9 in")
    shelf = Shelf(folder)
    refused(lambda: pick(shelf, "a"))
    rewrite(folder / "a" / "1.0.0.yaml", text)
    assert pick(shelf, "a").name == "a@1.0.0"
    assert shelf.problems == ()
    assert pick(shelf.renew(), "a").name == "a@1.0.0"


def test_renewing_with_a_broken_base_keeps_what_is_good(folder):
    shelf = Shelf(folder)
    rules = pick(shelf, "a")
    rewrite(folder / "house" / "1.0.0.yaml", "id: house\nversion: 1.0.0\nvalues: 5\n")
    alter(folder, "a", "title: t", "title: t # touched")
    assert pick(shelf.renew(), "a") is rules


CHANGED_LEDGER = [
    lambda text: re.sub(r"(house@1\.0\.0 .*sha256:).{4}", r"\g<1>0000", text),
    lambda text: text.replace("effective 2026-01-01", "effective 2026-01-02", 1),
    lambda text: text + text.splitlines()[0] + "\n",
    lambda text: text + "nonsense\n",
]


@pytest.mark.parametrize("change", CHANGED_LEDGER)
def test_a_record_that_was_changed_is_refused_and_the_shelf_stays(folder, change):
    shelf = Shelf(folder)
    ledger = folder / FILE
    ledger.write_text(change(ledger.read_text(encoding="utf-8")), encoding="utf-8")
    assert {p.file for p in refused(shelf.renew)} == {FILE}
    assert pick(shelf, "a").name == "a@1.0.0"


def test_a_withdrawal_is_taken_up(folder):
    shelf = Shelf(folder)
    pick(shelf, "a")
    withdraw("a@1.0.0", folder, date(2026, 12, 2))
    with pytest.raises(WithdrawnError):
        pick(shelf.renew(), "a@1.0.0")


@pytest.mark.parametrize("struck", ["withdrawn b@1.0.0", "published a@1.0.0"])
def test_a_line_that_was_struck_from_the_ledger_is_refused(folder, struck):
    """The ledger is only ever added to: what was withdrawn does not quietly come back."""
    withdraw("b@1.0.0", folder, date(2026, 12, 2))
    shelf = Shelf(folder)
    lines = (folder / FILE).read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith(struck)]
    assert len(kept) == len(lines) - 1
    (folder / FILE).write_text("".join(kept), encoding="utf-8")
    assert refused(shelf.renew)[0].file == FILE


def catalogs_of(folder):
    settings = Settings(rules=folder, default_ruleset="house")
    catalogs = Catalogs(settings, lambda: DAY)
    catalogs.rules.shelf = Shelf(folder)
    return catalogs


def test_readiness_tells_of_a_version_that_cannot_be_served(folder):
    alter(folder, "a", "8 in", "9 in")
    catalogs = catalogs_of(folder)
    refused(lambda: pick(catalogs.rules.shelf, "a"))
    readiness = catalogs.readiness()
    assert readiness.ruleset == "house@1.0.0"
    assert any("a/1.0.0.yaml" in problem for problem in readiness.problems)


def test_readiness_tells_of_a_ledger_that_was_not_taken_up_until_it_is(folder):
    catalogs = catalogs_of(folder)
    ledger = folder / FILE
    good = ledger.read_text(encoding="utf-8")
    ledger.write_text(good + "nonsense\n", encoding="utf-8")
    asyncio.run(catalogs.renew())
    assert any("ledger.txt" in problem for problem in catalogs.readiness().problems)
    ledger.write_text(good, encoding="utf-8")
    asyncio.run(catalogs.renew())
    assert catalogs.readiness().problems == ()


def test_a_request_is_answered_from_the_shelf_it_began_with(folder, monkeypatch):
    begun, go_on = threading.Event(), threading.Event()

    def wait(name):
        if name == "a":
            begun.set()
            assert go_on.wait(10)

    async def ask():
        catalogs = catalogs_of(folder)
        before_reading(monkeypatch, wait)
        old = catalogs.rules.shelf
        asked = asyncio.create_task(catalogs.pick_rules("a", None))
        await asyncio.to_thread(begun.wait, 10)
        add(folder, "a", "1.1.0")
        renewed = asyncio.create_task(catalogs.renew())
        go_on.set()
        await renewed
        assert catalogs.rules.shelf is not old
        return (await asked).version, (await catalogs.pick_rules("a", None)).version

    assert asyncio.run(ask()) == ("1.0.0", "1.1.0")


@asynccontextmanager
async def running(folder, monkeypatch):
    """Yield a client of the real application during its lifespan, which looks often."""
    often = partial(app_module.refreshing, renew_seconds=0.02)
    monkeypatch.setattr(app_module, "refreshing", often)
    settings = Settings(rules=folder, default_ruleset="house")
    app = create_app(settings, today=lambda: DAY)
    told, sent = asyncio.Queue(), asyncio.Queue()
    lifespan = asyncio.create_task(
        app({"type": "lifespan", "asgi": {"version": "3.0"}, "state": {}}, told.get, sent.put)
    )
    await told.put({"type": "lifespan.startup"})
    assert (await sent.get())["type"] == "lifespan.startup.complete"
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
        yield client
    await told.put({"type": "lifespan.shutdown"})
    assert (await sent.get())["type"] == "lifespan.shutdown.complete"
    await lifespan


async def until(condition, seconds=10.0):
    """Wait until a condition holds, and return whether it came to."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if await condition():
            return True
        await asyncio.sleep(0.02)
    return False


def test_the_application_takes_up_what_is_published_while_it_runs(folder, monkeypatch):
    async def ask():
        async with running(folder, monkeypatch) as client:

            async def newest(name):
                found = (await client.get(f"/v1/rulesets/{name}")).json()
                return found.get("in_force")

            assert await newest("a") == "1.0.0"
            add(folder, "a", "1.1.0")
            assert await until(lambda: is_now(newest, "a", "1.1.0"))
            add(folder, "c")
            assert await until(lambda: is_now(newest, "c", "1.0.0"))

    asyncio.run(ask())


async def is_now(newest, name, version):
    return await newest(name) == version


def test_the_application_goes_on_watching_after_a_bad_ledger(folder, monkeypatch):
    async def ask():
        async with running(folder, monkeypatch) as client:

            async def problems():
                return (await client.get("/readyz")).json()["problems"]

            ledger = folder / FILE
            good = ledger.read_text(encoding="utf-8")
            ledger.write_text(good + "nonsense\n", encoding="utf-8")
            assert await until(problems)
            ledger.write_text(good, encoding="utf-8")
            assert await until(lambda: nothing(problems))

    asyncio.run(ask())


async def nothing(problems):
    return not await problems()


def add_without_base(folder):
    """Record a version whose file nobody reads here."""
    with (folder / FILE).open("a", encoding="utf-8") as ledger:
        ledger.write(f"published late@1.0.0 effective 2026-01-01 sha256:{'0' * 64}\n")


def test_what_is_published_while_another_renewal_ends_is_taken_up(folder, monkeypatch):
    async def ask():
        real, published = Catalogs.renew, []

        async def renew(catalogs):
            await real(catalogs)
            if not published:
                published.append(True)
                add_without_base(folder)

        monkeypatch.setattr(Catalogs, "renew", renew)
        async with running(folder, monkeypatch) as client:

            async def assumed():
                return (await client.get("/v1/rulesets/late")).status_code == 200

            add(folder, "c")
            assert await until(assumed, 5)

    asyncio.run(ask())


@contextmanager
def serving(folder):
    """Yield a real server process, its address, and a function that reads its next log line."""
    command = [sys.executable, "-m", "gapwright", "serve", "--port", "0", "--rules", str(folder)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT
    ) as process:
        try:
            lines = iter(process.stdout.readline, "")
            url = next(line.split()[-1] for line in lines if "listening on" in line)
            yield process, url, lines
        finally:
            process.terminate()


def test_a_company_that_publishes_is_served_by_the_running_server(tmp_path):
    folder = tmp_path / "rules"
    shutil.copytree(HISTORY, folder)
    job = {"clearance": {"readings": ["4 in"]}, "ruleset": "ours@1.0.0"}
    with serving(folder) as (process, url, lines), httpx.Client(trust_env=False) as client:
        assert client.post(f"{url}/v1/sizing", json=job).status_code == 404
        path = folder / "ours" / "1.0.0.yaml"
        path.parent.mkdir()
        path.write_text((HOUSE % ("ours", "1.0.0", "")).replace("house@", "baseline@"))
        record = publish(path, folder)
        process.send_signal(signal.SIGHUP)
        assert next(line for line in lines if '"kind":"ruleset"' in line)
        answer = client.post(f"{url}/v1/sizing", json=job)
        assert json.loads(answer.content)["ruleset"]["digest"] == record.digest
