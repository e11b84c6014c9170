"""What the channel is attached to decides the bill, the layout, and whether the price is firm."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from gapwright import CrewSheetUnavailableError, Engine

ENGINE = Engine()
BLOCK = {
    "rows": 2,
    "columns": 5,
    "long_side": "69 in",
    "short_side": "41 in",
    "row_gap": "1 in",
    "column_gap": "1/2 in",
}


def job(racking: str, **plane: Any) -> dict[str, Any]:
    return {
        "roof_covering": "asphalt_shingle",
        "racking": racking,
        "clearance": {"readings": ["4 1/2 in"]},
        "pitch": "low",
        "stories": 1,
        "crew": 2,
        "working_day": "8 h",
        "site": dict.fromkeys(
            ("active_nest", "animals_present", "bat_roost", "poor_roof_condition"), False
        ),
        "planes": [{"array": {"blocks": [BLOCK]}, **plane}],
    }


def quote(racking: str, **plane: Any) -> dict[str, Any]:
    result: dict[str, Any] = ENGINE.quote(job(racking, **plane))["result"]
    return result


def items(result: dict[str, Any]) -> dict[str, float]:
    return {line["item"]: line["quantity"] for line in result["bill"]["lines"]}


def test_rail_mounted_modules_take_screws_and_a_tie_at_each():
    found = quote("rail_mounted")
    counts, billed = found["layout"]["counts"], items(found)
    assert billed["screw"] == billed["washer"] == billed["tie"]
    assert billed["screw"] == counts["tabs"] + counts["returns"] > 0
    assert "frame_clip" not in billed
    assert found["price"]["firm"]


def test_railless_modules_take_frame_clips_and_nothing_that_drills():
    found = quote("railless")
    counts, billed = found["layout"]["counts"], items(found)
    assert counts["tabs"] == counts["returns"] == 0
    assert billed["frame_clip"] == counts["clips"] == len(found["layout"]["clips"])
    assert not {"screw", "washer", "tie"} & set(billed)
    assert found["layout"]["warnings"] == []
    assert {"clip"} < {task["task"] for task in found["labor"]["tasks"]}
    cautions = {one["id"] for one in ENGINE.quote(job("railless"))["cautions"]}
    assert "frame_clips" in cautions
    assert "frame_clips" not in {one["id"] for one in ENGINE.quote(job("rail_mounted"))["cautions"]}


def test_clips_are_6_in_from_corners_and_at_most_18_in_apart():
    layout = quote("railless")["layout"]
    for side in layout["sides"]:
        along = [c["along"]["value"] * 12 for c in layout["clips"] if c["side"] == side["side"]]
        length = side["length"]["value"] * 12
        assert along[0] == pytest.approx(6)
        assert along[-1] == pytest.approx(length - 6, abs=0.001)
        assert all(0 < b - a <= 18.001 for a, b in pairwise(along))


def test_each_clip_is_marked_on_the_piece_that_it_holds():
    layout = quote("railless")["layout"]
    marks = [m for piece in layout["pieces"] for m in piece["marks"] if m["kind"] == "clip"]
    assert len(marks) >= len(layout["clips"])
    assert {m["side"] for m in marks} == {clip["side"] for clip in layout["clips"]}


def test_a_clip_stays_clear_of_a_module_clamp():
    def eave(found: dict[str, Any]) -> list[float]:
        clips = found["layout"]["clips"]
        return [c["along"]["value"] * 12 for c in clips if c["side"] == "A-eave"]

    at = eave(quote("railless"))[3]
    beside = quote("railless", module_clamps=[{"x": f"{at} in", "y": "1 in"}])
    assert min(abs(other - at) for other in eave(beside)) >= 2.999


def test_rails_of_a_railless_job_are_not_used_and_the_answer_says_so():
    rail = {"start": {"x": "-3 in", "y": "12 in"}, "end": {"x": "210 in", "y": "12 in"}}
    layout = quote("railless", rails={"segments": [rail]})["layout"]
    assert [one["code"] for one in layout["warnings"]] == ["rails_not_used"]
    assert layout["tabs"] == []


@pytest.mark.parametrize("rails", [{"none": True}, {"segments": []}])
def test_without_known_rails_the_thumb_rule_counts_and_the_price_is_not_firm(rails):
    """The array of 5 x 2 modules is 62 ft around: a fastener each 6 ft makes 11."""
    found = quote("rail_mounted", rails=rails)
    perimeter = found["layout"]["perimeter"]["value"]
    assert items(found)["screw"] == -(-perimeter // 6)
    assert "rails_unknown" in {one["code"] for one in found["layout"]["warnings"]}
    assert not found["price"]["firm"]
    assert any("rule of thumb" in one for one in found["price"]["open_items"])


def test_rotated_modules_on_rails_have_none_inferred_and_are_not_firm():
    module = {"x": "0 in", "y": "0 in", "width": "100 in", "height": "60 in", "rotation": 30}
    found = quote("rail_mounted", array={"modules": [module]})
    assert items(found)["screw"] > 0
    assert not found["price"]["firm"]


@pytest.mark.parametrize("racking", ["ballasted", "unknown"])
def test_what_is_undecided_has_mesh_and_rings_and_no_rails_inferred(racking):
    found = quote(racking)
    assert found["suitability"]["attachment"] == "undecided"
    assert set(items(found)) == {"mesh", "ring"}
    assert found["layout"]["tabs"] == found["layout"]["returns"] == found["layout"]["clips"] == []
    assert "attachment_undecided" in {one["code"] for one in found["layout"]["warnings"]}


def test_fixings_of_unknown_racking_are_to_be_priced():
    found = quote("unknown")
    assert not found["price"]["firm"]
    assert any("fasteners" in one for one in found["price"]["open_items"])


def test_a_ballasted_array_has_no_price_and_no_crew_sheet_before_the_engineer():
    found = quote("ballasted")
    assert found["price"] is None
    assert "No price may be given yet" in found["price_unavailable"]
    with pytest.raises(CrewSheetUnavailableError) as refused:
        ENGINE.crew_sheet(job("ballasted"))
    assert "engineer" in str(refused.value)


@pytest.mark.parametrize(
    ("racking", "fixing"),
    [("rail_mounted", "screw"), ("railless", "frame_clip"), ("unknown", None)],
)
def test_an_estimate_by_perimeter_takes_the_same_kind_of_fixing(racking, fixing):
    request = {"racking": racking, "perimeter": "90 ft", "strip_width": "8 in"}
    lines = {line["item"]: line for line in ENGINE.materials(request)["result"]["lines"]}
    assert {"screw", "frame_clip"} & set(lines) == ({fixing} if fixing else set())
