"""The pictures of the demo job that README shows are those that the service makes now."""

from __future__ import annotations

from pathlib import Path

import pytest
from gapwright.__main__ import main

from tests.contract.ask import OPENAPI

SVGS = ("quote-house-south.svg", "quote-house-west.svg")
MOST_BYTES = 800_000


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "new"
    assert main(["demo", str(folder)]) == 0
    return folder


def test_the_command_makes_what_is_committed(made: Path):
    committed = {path.name for path in (OPENAPI / "examples").glob("quote-house-*")}
    assert {path.name for path in made.iterdir()} == committed
    assert set(SVGS) <= committed


@pytest.mark.parametrize("name", SVGS)
def test_the_committed_drawing_is_what_the_service_draws(made: Path, name: str):
    drawn = (made / name).read_bytes()
    assert drawn == (OPENAPI / "examples" / name).read_bytes(), (
        "Review it, then write it: gapwright demo openapi/examples"
    )


def test_the_pages_are_pictures_of_the_whole_sheet(made: Path):
    pages = sorted(made.glob("*.png"))
    assert len(pages) == 4
    assert all(page.read_bytes().startswith(b"\x89PNG") for page in pages)
    assert (made / "quote-house-sheet.pdf").read_bytes().startswith(b"%PDF-")


def test_committed_pictures_are_small():
    pictures = (OPENAPI / "examples").glob("quote-house-*")
    assert sum(path.stat().st_size for path in pictures) < MOST_BYTES
