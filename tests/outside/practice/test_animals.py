"""Which animals half-inch mesh keeps out, and that no text of the service promises more.

Sources:
- mouse: passes 1/4 in (Centers for Disease Control and Prevention, on sealing up against rodents);
  slightly more than 1/4 in (University of Nebraska-Lincoln Extension, G1530, Rodent-Proof
  Construction). Secondary copies.
- rat: passes slightly more than 1/2 in (the same extension guide). Secondary copy.
- bats and mice: 1/4-in hardware cloth keeps them out (Cornell Cooperative Extension and New York
  State IPM, Best Practices for Nuisance Wildlife Control Operators, chapter 5). Secondary copy.
- squirrel: passes 1 1/2 in (University of Nebraska-Lincoln Extension). Secondary copy.
- bird: the smallest that nests on roofs is the house sparrow, which passes more than 3/4 in
  (Prevention and Control of Wildlife Damage, University of Nebraska-Lincoln, 1994). From memory.

The openings are printed as fractions of an inch and compared as such, without a tolerance: an
animal is kept out where the mesh is no wider than what it needs more than. Wires 1/2 in apart leave
less than that between them (1/2 in less a wire of .0625 in is .4375 in, by wire-cloth tables;
secondary copy), and still far more than a mouse needs.
"""

from __future__ import annotations

import asyncio
import re
from datetime import date
from fractions import Fraction

import httpx
import pytest
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.quantity.parse import length_nm
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY

NEEDS_MORE_THAN = {
    "bird": Fraction(3, 4),
    "squirrel": Fraction(3, 2),
    "rat": Fraction(1, 2),
    "mouse": Fraction(1, 4),
    "bat": Fraction(1, 4),
}
"""The opening that an animal needs more than, in inches."""

PLURALS = {"birds": "bird", "squirrels": "squirrel", "rats": "rat", "mice": "mouse", "bats": "bat"}
PROMISE = re.compile(
    r"keeps? out ([^.;]*)|((?:\w+ ){0,3})(?:mouse|mice|bat|rodent|vermin)[- ]?proof",
    re.IGNORECASE,
)

RULES = Shelf(HISTORY).pick("baseline", date(2026, 7, 1))
MESH = Fraction(RULES.values.mesh_opening, length_nm("1 in"))
APP = create_app(Settings(rules=HISTORY), today=lambda: date(2026, 7, 1))

ASKED = {
    "sizing": ("/v1/sizing", {"clearance": {"readings": ["4 1/2 in"]}}),
    "sizing, no strip wide enough": ("/v1/sizing", {"clearance": {"readings": ["20 in"]}}),
    "sizing in metric": ("/v1/sizing", {"clearance": {"readings": ["60 mm"]}, "units": "metric"}),
    "materials with rings": ("/v1/materials", {"perimeter": "90 ft", "strip_width": "8 in"}),
    "materials with ties, sprayed": (
        "/v1/materials",
        {"perimeter": "9 m", "strip_width": "6 in", "joining": "ties", "finish": "spray"},
    ),
    "suitability of what is not known": ("/v1/suitability", {}),
    "suitability of shingle on rails": (
        "/v1/suitability",
        {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"},
    ),
    "suitability with animals inside": (
        "/v1/suitability",
        {"roof_covering": "clay_tile", "racking": "railless", "site": {"animals_present": True}},
    ),
}
asked = pytest.mark.parametrize(("path", "body"), ASKED.values(), ids=ASKED.keys())


@pytest.mark.parametrize("animal", ["mouse", "bat"])
def test_half_inch_mesh_lets_mice_and_bats_through_even_between_thick_wires(animal):
    assert Fraction(1, 2) == MESH
    assert MESH - Fraction("0.0625") > NEEDS_MORE_THAN[animal]


@asked
def test_every_answer_says_that_the_mesh_is_not_mouse_proof_nor_proof_against_bats(path, body):
    texts = [caution["text"] for caution in post(path, body)["cautions"]]
    about_mice = [text for text in texts if re.search(r"\bmouse|\bmice", text)]
    assert about_mice
    assert all(re.search(r"\bnot mouse-proof\b", text) for text in about_mice)
    assert any(re.search(r"\bnor proof against bats\b", text) for text in about_mice)


@asked
def test_no_answer_promises_to_keep_out_what_passes_the_mesh(path, body):
    assert broken_promises(texts_of(post(path, body))) == []


def test_no_text_of_the_rule_file_promises_to_keep_out_what_passes_the_mesh():
    assert broken_promises(texts_of(RULES.content)) == []


def test_the_caution_names_the_animals_that_the_mesh_does_keep_out():
    (caution,) = [c.text for c in RULES.cautions if "mouse-proof" in c.text]
    assert kept_out(caution) == {"bird", "squirrel", "rat"}


@pytest.mark.parametrize(
    "text",
    [
        "It keeps out birds and mice.",
        "Half-inch mesh keeps out mice",
        "The mesh is mouse-proof.",
        "A rodent-proof barrier.",
        "Mouse-proof mesh",
        "Fully mouseproof mesh",
        "Mesh that will keep out rats, squirrels and bats.",
        "keeps out weasels",
    ],
)
def test_a_promise_that_the_mesh_cannot_keep_is_found(text):
    assert broken_promises([text]) == [text]


def broken_promises(texts: list[str]) -> list[str]:
    """Return the texts that promise to keep out an animal that passes the mesh, or is not known."""
    return [text for text in texts if any(_broken(promise) for promise in PROMISE.finditer(text))]


def _broken(promise: re.Match[str]) -> bool:
    listed, before = promise.groups()
    if listed is None:
        return not re.search(r"\b(not|never|nor)\b", before)
    return not all(NEEDS_MORE_THAN.get(animal, 0) >= MESH for animal in _animals(listed))


def _animals(listed: str) -> set[str]:
    words = re.split(r", | and | or ", listed.strip())
    return {PLURALS.get(word, word) for word in words}


def kept_out(text: str) -> set[str]:
    """Return the animals that a text says are kept out."""
    return {animal for p in PROMISE.finditer(text) if p[1] for animal in _animals(p[1])}


def texts_of(data: object) -> list[str]:
    """Return every text in plain data."""
    if isinstance(data, str):
        return [data]
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    return [text for value in inner for text in texts_of(value)]


def post(path, body):
    """Return the answer to a request, sent to the service in this process."""

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=APP)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            return await client.post(path, json=body)

    answer = asyncio.run(send())
    assert answer.status_code == 200, answer.text
    return answer.json()
