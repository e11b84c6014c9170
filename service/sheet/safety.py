"""What stands first on the sheet: cautions, verdict, and what nobody told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.calc.cautions import cautions
from service.calls.quoting import Quoted
from service.rulesets.ruleset import Caution, RuleSet
from service.sheet.words import (
    BEFORE_CLOSING,
    BEFORE_LEAVING,
    FIXED,
    FLAGS,
    SEVERITIES,
    SURVEY,
    VERDICTS,
    Check,
)

_PLANNED = ("crew", "working_day")
"""What the labour plan says; nobody can compare it on site."""


def safety(found: Quoted, shown: Any, rules: RuleSet) -> dict[str, Any]:
    """Return cautions, verdict, assumptions and checks."""
    given = sorted(cautions(found.facts, rules), key=lambda c: SEVERITIES.index(c.severity))
    numbers = {caution.id: number for number, caution in enumerate(given, 1)}
    return {
        "cautions": [_caution(number, caution) for number, caution in enumerate(given, 1)],
        "verdict": _verdict(shown.suitability),
        "taken": [_taken(one) for one in shown.assumptions if one.name not in _PLANNED],
        "untold": _untold(shown.suitability),
        "before_closing": _checks(BEFORE_CLOSING, numbers),
        "before_leaving": _checks(BEFORE_LEAVING, numbers),
    }


def _caution(number: int, caution: Caution) -> dict[str, Any]:
    word = caution.severity.upper()
    return {"number": number, "word": word, "text": caution.text, "source": caution.source}


def _verdict(told: Any) -> dict[str, Any]:
    """Return the verdict: what is to be settled before work, and why the rest stands."""
    asking = [one for one in told.reasons if one.verdict in ("conditional", "survey")]
    rest = [one for one in told.reasons if one not in asking]
    shape = "" if told.shape == "undecided" else f"; shape {told.shape}"
    return {
        "word": VERDICTS[told.verdict],
        "fixing": f"{FIXED[told.attachment]}{shape}.",
        "note": f"{SURVEY} {told.note or ''}".strip() if told.verdict == "survey" else told.note,
        "conditions": [
            {"text": f"{one.reason} {one.remedy or ''}".strip(), "see": []} for one in asking
        ],
        "reasons": [f"{one.reason} {one.remedy or ''}".strip() for one in rest],
    }


def _taken(one: Any) -> dict[str, str]:  # noqa: ANN401 - an assumption as it is shown
    likely = f"{getattr(one, 'from')} to {one.to}"
    return {"means": one.means, "taken": one.taken, "range": likely}


def _untold(told: Any) -> str:
    """Return what nobody said of the site, and was therefore taken as not being so."""
    untold = [FLAGS[one.fact] for one in told.assumptions if one.fact in FLAGS]
    return f"{', '.join(untold)}." if untold else ""


def _checks(asked: Sequence[Check], numbers: Mapping[str, int]) -> list[dict[str, Any]]:
    return [
        {
            "text": check.text,
            "see": sorted(numbers[name] for name in check.follows if name in numbers),
        }
        for check in asked
    ]
