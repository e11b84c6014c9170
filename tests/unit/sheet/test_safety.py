"""What stands first, and the checks that follow from it."""

from __future__ import annotations

import msgspec
from gapwright.rulesets.ruleset import Caution
from gapwright.sheet.crew_sheet import safety
from gapwright.sheet.pdf import render_pdf
from gapwright.sheet.texts import BEFORE_CLOSING, BEFORE_LEAVING, sequence_of_work

from tests.unit.sheet.jobs import rules, shown, text_of


def test_checks_cite_the_cautions_that_they_follow_from_by_their_numbers():
    data = shown("quote-house").data
    texts = {number: caution["text"] for number, caution in enumerate(data["cautions"], 1)}
    cited = {one["text"]: one["see"] for one in data["before_closing"]}
    animal = next(see for text, see in cited.items() if text.startswith("No animal"))
    assert [texts[number][:28] for number in animal] == ["Never trap an animal inside."]


def test_every_caution_that_a_check_names_is_one_of_the_baseline_s():
    given = {caution.id for caution in rules().cautions}
    for _, cautions in (*BEFORE_CLOSING, *BEFORE_LEAVING):
        assert set(cautions) <= given


def test_a_rule_set_without_a_caution_keeps_the_check_without_its_number():
    sheet = shown("quote-house")
    bare = msgspec.structs.replace(rules(), cautions=())
    data = safety(sheet.found, bare)
    assert data["cautions"] == []
    assert len(data["before_closing"]) == len(BEFORE_CLOSING)
    assert all(one["see"] == [] for one in data["before_closing"])


def test_every_severity_can_be_printed():
    made = tuple(
        Caution(id=word, severity=word, text=f"On {word}.", source="here", when=())  # type: ignore[arg-type]
        for word in ("notice", "caution", "warning", "danger")
    )
    sheet = shown("quote-sparse")
    bare = msgspec.structs.replace(rules(), cautions=made)
    text = text_of(render_pdf(sheet.data | safety(sheet.found, bare)))
    assert "1 DANGER On danger. here" in text
    assert "4 NOTICE On notice. here" in text


def test_what_nobody_told_of_the_site_is_to_be_looked_for():
    text = shown("quote-house").text
    assert "check on site: an active nest, animals under the array" in text


def test_the_sequence_follows_how_the_job_is_done():
    brake = list(
        sequence_of_work(
            {"bending": "brake", "joining": "ties"}, {"pieces": 4}, False, "frame_clips"
        )
    )
    assert any("on the bending brake" in step for step in brake)
    assert any("with cable ties" in step for step in brake)
    assert any("Never drill a frame" in step for step in brake)
    assert not any("pipes" in step or "returns" in step for step in brake)
    spray = list(
        sequence_of_work({"finish": "spray"}, {"returns": 2, "penetrations": 1}, False, "rails")
    )
    assert any("spray paint on the ground" in step for step in spray)
    assert any("pipes and conduits" in step for step in spray)
    assert any("Bend the returns in" in step for step in spray)
    unknown = list(sequence_of_work({}, {}, True, "undecided"))
    assert any("agreed before work began" in step for step in unknown)
    assert unknown[-1].startswith("Leave the last piece open")
