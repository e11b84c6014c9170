from __future__ import annotations

import json
import sys

import pytest
from gapwright.__main__ import main
from gapwright.version import ENGINE

from tests.unit.make import BASELINE, baseline, edited


def test_check_tells_that_a_file_is_sound_and_its_digest(capsys):
    assert main(["check", str(BASELINE)]) == 0
    told = capsys.readouterr().out
    assert "baseline@1.0.0 is valid" in told
    assert baseline().digest in told


def test_check_tells_every_fault_of_every_file_with_its_line(tmp_path, capsys):
    faulty, missing = tmp_path / "1.0.0.yaml", tmp_path / "none.yaml"
    faulty.write_text(edited(("\nunits: imperial", "\nunits: feet")), encoding="utf-8")
    assert main(["check", str(faulty), str(BASELINE), str(missing)]) == 1
    told = capsys.readouterr()
    assert "units: " in told.err
    assert "1.0.0.yaml:" in told.err
    assert "none.yaml" in told.err
    assert "baseline@1.0.0 is valid" in told.out


def test_openapi_prints_the_contract(capfdbinary):
    assert main(["openapi"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["info"]["title"] == "gapwright"


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["measure"],
        ["serve", "--port", "65536"],
        ["serve", "--port", "-1"],
        ["serve", "--port", "http"],
        ["check"],
    ],
)
def test_wrong_usage_ends_with_status_two_and_a_word_on_it(arguments, capsys):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert "usage: gapwright" in capsys.readouterr().err


def test_serving_a_folder_that_is_none_is_wrong_usage(tmp_path, capsys):
    assert main(["serve", "--rules", str(tmp_path / "nowhere")]) == 2
    assert "nowhere is not a folder" in capsys.readouterr().err


def test_the_version_is_the_engines(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.strip() == f"gapwright {ENGINE}"


@pytest.mark.parametrize(("told", "book"), [((), "demo"), (("--price-book", "own"), "own")])
def test_serving_takes_the_price_book_of_quotes(told, book, monkeypatch):
    asked = []
    monkeypatch.setattr("gapwright.serve.serve", lambda *given: asked.append(given) or 0)
    assert main(["serve", *told]) == 0
    assert [given[-1] for given in asked] == [book]


def test_a_command_that_needs_the_server_extra_names_it(capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    monkeypatch.delitem(sys.modules, "gapwright.serve", raising=False)
    assert main(["serve", "--port", "0"]) == 2
    assert "uvicorn is not installed. Install gapwright[server]." in capsys.readouterr().err
