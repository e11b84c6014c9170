"""The drawing of a layout over HTTP: SVG, or DXF if the caller asks for it."""

from __future__ import annotations

from collections import Counter
from io import StringIO

import ezdxf
import pytest

from tests.contract.ask import EXAMPLES, Service

PATH = "/v1/layout/drawing"
SVG, DXF = "image/svg+xml", "image/vnd.dxf"
LAYOUTS = {name: EXAMPLES["/v1/layout"][name] for name in EXAMPLES["/v1/layout"]}


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_entities_of_a_dxf_are_those_of_the_answer(service: Service, name: str):
    request = LAYOUTS[name]
    layout = service.post("/v1/layout", request).json()["result"]
    answer = service.post(PATH, request, accept=DXF)
    assert answer.status_code == 200, answer.text[:300]
    assert answer.headers["content-type"].partition(";")[0] == DXF
    assert answer.headers["gapwright-ruleset"].startswith("baseline@")
    document = ezdxf.read(StringIO(answer.text))
    layers = Counter(entity.dxf.layer for entity in document.modelspace())
    counts = layout["counts"]
    assert counts["pieces"] > 4
    for layer, count in (
        ("BARRIER", counts["pieces"]),
        ("OVERLAPS", counts["overlaps"]),
        ("TABS", counts["tabs"]),
        ("RETURNS", counts["returns"]),
        ("PENETRATIONS", counts["penetrations"]),
        ("LABELS", len(layout["sides"]) + counts["pieces"]),
    ):
        assert layers[layer] == count, layer
    labels = {e.dxf.text for e in document.modelspace() if e.dxf.layer == "LABELS"}
    assert labels == {side["side"] for side in layout["sides"]} | {
        piece["piece"] for piece in layout["pieces"]
    }


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        ("*/*", SVG),
        ("image/*", SVG),
        (SVG, SVG),
        (DXF, DXF),
        (f"{SVG};q=0, */*", DXF),
        (f"text/html, {DXF};q=0.8, {SVG};q=0.2", DXF),
    ],
)
def test_the_accept_header_chooses(service: Service, accept: str, media_type: str):
    answer = service.post(PATH, LAYOUTS["layout-block"], accept=accept)
    assert answer.status_code == 200
    assert answer.headers["content-type"].partition(";")[0] == media_type
    assert "accept" in answer.headers["vary"].lower()


@pytest.mark.parametrize(
    "accept",
    ["application/pdf", "text/html", "nonsense", "image/png;q=inf", f"{SVG};q=0", "*/*;q=0.0"],
)
def test_a_caller_that_accepts_neither_is_refused(service: Service, accept: str):
    answer = service.post(PATH, LAYOUTS["layout-block"], accept=accept)
    assert answer.status_code == 406
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == "/problems/not-acceptable"
    assert SVG in answer.json()["detail"]
    assert DXF in answer.json()["detail"]
