"""The main job from end to end, over HTTP. Common practice, no source.

The worked check is one that crews use: a clearance of 4 1/2 in and a perimeter of 90 ft. Its
figures are whole or exact fractions, so nothing is compared with a tolerance. The sums in
millimetres (152.4 mm is 6 in; 128.3 mm + 74.9 mm = 203.2 mm is 8 in) follow from the inch of
25.4 mm. Computed. What such a job costs is not checked here: the service knows no prices yet.
"""

from __future__ import annotations

import asyncio
import shutil
from datetime import date

import httpx
import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.rulesets.build.build import build
from gapwright.rulesets.ledger import Record
from gapwright.rulesets.shelf import Shelf, read_file

from tests.history import RULES as HISTORY

JOB = {"clearance": {"readings": ["4 1/2 in"]}, "perimeter": "90 ft"}
METRIC_JOB = {"clearance": {"readings": ["114.3 mm"]}, "perimeter": "27.432 m"}


def test_a_clearance_of_four_and_a_half_inches_needs_six_and_a_half_and_takes_eight():
    strip = size("4 1/2 in")["strip"]
    assert (strip["required_width"]["value"], strip["required_width"]["text"]) == (6.5, "6 1/2 in")
    assert (strip["width"]["value"], strip["width"]["text"]) == (8, "8 in")
    assert strip["common"] is True
    assert strip["spare"]["text"] == "1 1/2 in"


def test_its_web_is_four_inches_between_two_flanges_of_two_bent_at_two_and_six():
    profile = size("4 1/2 in")["profile"]
    assert profile["web"] == {"value": 4, "unit": "in", "text": "4 in"}
    assert profile["flange"] == {"value": 2, "unit": "in", "text": "2 in"}
    assert [line["text"] for line in profile["bend_lines"]] == ["2 in", "6 in"]
    assert [line["value"] for line in profile["bend_lines"]] == [2, 6]
    assert profile["bend_angle"] == {"min": 70, "max": 80}
    assert profile["fit"] == "snug"


def test_ninety_feet_take_a_hundred_and_eight_feet_of_mesh_off_two_rolls_of_a_hundred():
    mesh = bill(JOB)["mesh"]
    assert (mesh["quantity"], mesh["unit"]) == (108, "ft")
    assert mesh["length"]["text"] == "108 ft"
    assert mesh["rolls"] == 2
    assert (mesh["packs"]["count"], mesh["packs"]["pack_size"], mesh["packs"]["unit"]) == (
        2,
        100,
        "ft",
    )


def test_joined_with_rings_they_take_fifteen_screws_washers_and_ties_and_forty_five_rings():
    lines = bill({**JOB, "joining": "rings"})
    assert counts(lines) == {"screw": 15, "washer": 15, "tie": 15, "ring": 45}
    assert parts(lines["tie"]) == {"binding": 15}


def test_without_the_ring_tool_they_take_twenty_three_more_ties_told_apart_and_no_rings():
    lines = bill({**JOB, "joining": "ties"})
    assert counts(lines) == {"screw": 15, "washer": 15, "tie": 15 + 23}
    assert parts(lines["tie"]) == {"binding": 15, "joining": 23}


@pytest.mark.parametrize("joining", ["rings", "ties"])
def test_the_job_sent_in_metric_has_the_same_bill(joining):
    asked = {**METRIC_JOB, "joining": joining, "units": "imperial"}
    metric = post("/v1/materials", asked)
    imperial = post("/v1/materials", {**JOB, "joining": joining})
    assert metric["result"] == imperial["result"]
    assert metric["receipt"]["result"] == imperial["receipt"]["result"]
    assert metric["receipt"]["request"] != imperial["receipt"]["request"]


def test_the_bill_answered_in_metric_counts_the_same_and_has_the_same_length_of_mesh():
    metric, imperial = bill({**METRIC_JOB, "units": "metric"}), bill(JOB)
    assert counts(metric) == counts(imperial)
    assert (metric["mesh"]["quantity"], metric["mesh"]["unit"]) == (32.9184, "m")
    assert metric["mesh"]["rolls"] == 2


def test_a_clearance_of_six_inches_in_millimetres_lands_exactly_on_the_strip_of_eight():
    strip = size("152.4 mm")["strip"]
    assert strip["required_width"]["text"] == "8 in"
    assert strip["width"]["text"] == "8 in"
    assert strip["spare"]["value"] == 0


def test_a_millionth_of_a_millimetre_more_takes_the_next_strip():
    assert size("152.400001 mm")["strip"]["width"]["text"] == "10 in"


def test_a_margin_in_millimetres_that_makes_eight_inches_takes_eight_and_not_ten(metric_margin):
    strip = size("128.3 mm", metric_margin)["strip"]
    assert strip["required_width"] == {"value": 8, "unit": "in", "text": "8 in"}
    assert strip["width"]["text"] == "8 in"
    assert 128.3 + 74.9 > 8 * 25.4, "in floats the sum is more than 8 in"


def test_with_that_margin_a_millionth_of_a_millimetre_more_takes_ten(metric_margin):
    assert size("128.300001 mm", metric_margin)["strip"]["width"]["text"] == "10 in"


METRIC_MARGIN = """\
id: metric-margin
version: 1.0.0
effective: 2026-01-01
status: published
title: The baseline with a strip margin in millimetres
change: The strip margin is 74.9 mm.
approved_by: A test
based_on: baseline@1.0.0
values:
  mesh_margin: {value: 74.9 mm}
remove:
  examples: [EXAMPLES]
"""


@pytest.fixture(scope="module")
def metric_margin(tmp_path_factory):
    """Return a service whose rules are the baseline's, but for a strip margin of 74.9 mm.

    The baseline's examples go, since they state what its margin of 2 in comes to.
    """
    folder = tmp_path_factory.mktemp("house") / "rules"
    shutil.copytree(HISTORY, folder)
    path = folder / "metric-margin" / "1.0.0.yaml"
    path.parent.mkdir()
    shelf = Shelf(folder)
    examples = shelf.pick("baseline@1.0.0", date(2026, 7, 1)).examples
    path.write_text(METRIC_MARGIN.replace("EXAMPLES", ", ".join(examples)))
    rules = build(shelf.resolve(read_file(path, folder)))
    record = Record(
        id=rules.id, version=rules.version, effective=rules.effective, digest=rules.digest
    )
    with (folder / "ledger.txt").open("a") as ledger:
        ledger.write(f"{record.line()}\n")
    settings = Settings(rules=folder, default_ruleset=rules.name)
    return create_app(settings, today=lambda: date(2026, 7, 1))


APP = create_app(Settings(rules=HISTORY), today=lambda: date(2026, 7, 1))


def size(reading, app=APP):
    """Return the sizing for one reading of the clearance."""
    return post("/v1/sizing", {"clearance": {"readings": [reading]}}, app)["result"]


def bill(job):
    """Return the lines of a job's bill by their item."""
    return {line["item"]: line for line in post("/v1/materials", job)["result"]["lines"]}


def counts(lines):
    """Return the quantity of each line but the mesh, which is a length."""
    return {item: line["quantity"] for item, line in lines.items() if item != "mesh"}


def parts(line):
    """Return how much of a line each need takes."""
    return {part["need"]: part["quantity"] for part in line["parts"]}


def post(path, body, app=APP):
    """Return the answer to a request, sent to the service in this process."""

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            return await client.post(path, json=body)

    answer = asyncio.run(send())
    assert answer.status_code == 200, answer.text
    return answer.json()
