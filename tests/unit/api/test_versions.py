"""What the ledger says of a version is what its address answers: published, or withdrawn."""

from __future__ import annotations

import asyncio
import shutil
from datetime import date

import httpx
import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.publishing.publish import withdraw

from tests.history import RULES as HISTORY

ONE = "/v1/rulesets/baseline/1.0.0"
OTHER = "/v1/rulesets/baseline/1.1.0"
CHANGES = f"{OTHER}/changes?since=1.0.0"


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(HISTORY, tmp_path / "rules")


def asked(folder, *addresses, **headers):
    """Return what the service answers over a folder, address by address."""
    app = create_app(Settings(rules=folder), today=lambda: date(2026, 11, 25))

    async def ask():
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            return [await client.get(address, headers=headers) for address in addresses]

    return asyncio.run(ask())


def test_a_withdrawn_version_says_so_and_keeps_its_digest_and_content(folder):
    (before,) = asked(folder, ONE)
    withdraw("baseline@1.0.0", folder, date(2026, 11, 20))
    (after,) = asked(folder, ONE)
    old, new = before.json(), after.json()
    assert (old["status"], new["status"]) == ("published", "withdrawn")
    assert new["content"]["status"] == "withdrawn"
    for part in (old, new):
        part.pop("status")
        part["content"].pop("status")
    assert old == new


def test_an_answer_that_says_published_is_not_taken_for_the_one_that_says_withdrawn(folder):
    (before,) = asked(folder, ONE)
    tag = {"if-none-match": before.headers["etag"]}
    assert asked(folder, ONE, **tag)[0].status_code == 304
    withdraw("baseline@1.0.0", folder, date(2026, 11, 20))
    (after,) = asked(folder, ONE, **tag)
    assert after.status_code == 200
    assert after.headers["etag"] != before.headers["etag"]


def test_changes_say_the_status_of_both(folder):
    found = asked(folder, CHANGES)[0].json()
    assert (found["since_status"], found["status"]) == ("published", "published")
    withdraw("baseline@1.0.0", folder, date(2026, 11, 20))
    now = asked(folder, CHANGES)[0].json()
    assert (now["since_status"], now["status"]) == ("withdrawn", "published")
    assert now["changes"] == found["changes"]


def test_the_page_of_differences_warns_of_a_withdrawn_version(folder):
    page = "/rules/baseline/differences?from=1.0.0&to=1.1.0"
    assert "was withdrawn" not in asked(folder, page)[0].text
    withdraw("baseline@1.0.0", folder, date(2026, 11, 20))
    assert "baseline@1.0.0 was withdrawn on 2026-11-20" in asked(folder, page)[0].text


def test_what_stands_on_a_withdrawn_version_is_served_and_told_by_readiness(folder):
    withdraw("baseline@1.0.0", folder, date(2026, 11, 20))
    northmoor = "/v1/rulesets/northmoor/1.0.0"
    first, served, ready = asked(folder, "/readyz", northmoor, "/readyz")
    assert served.json()["status"] == "published"
    assert not [one for one in first.json()["problems"] if "northmoor" in one]
    (told,) = [one for one in ready.json()["problems"] if "northmoor" in one]
    assert told.startswith("northmoor/1.0.0.yaml:")
    assert "baseline@1.0.0 was withdrawn on 2026-11-20" in told


def test_what_was_withdrawn_itself_is_no_problem_of_readiness(folder):
    for name in ("baseline@1.0.0", "northmoor@1.0.0"):
        withdraw(name, folder, date(2026, 11, 20))
    *_, ready = asked(folder, "/v1/rulesets/northmoor/1.0.0", "/readyz")
    assert not [one for one in ready.json()["problems"] if "northmoor" in one]
