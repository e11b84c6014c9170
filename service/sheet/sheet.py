"""The crew sheet of a quoted job, gathered as plain data to be set."""

from __future__ import annotations

from typing import Any

import msgspec

from service.calc.layout.lay import LaidPlane
from service.calc.quote import Job, Reckoned
from service.calls.answers.quote import QuoteAnswer
from service.calls.quote_forms import JobForm, QuoteForm
from service.calls.quoting import Quoted
from service.drawing import PrintedPlan, draw_printed_plans
from service.drawing.descriptions import plane_counts, plane_title
from service.quantity.show import System, long, short
from service.rulesets.ruleset import RuleSet
from service.sheet.channels import channels, lettered
from service.sheet.code import qr_code
from service.sheet.cutting import cut_list, plane_titles, roll_plan, rolls_of
from service.sheet.loading import labour_plan, load, tools
from service.sheet.plain import line, lines, unbroken
from service.sheet.safety import safety
from service.sheet.words import SIGNATURES, marks_key, sequence
from service.version import ENGINE

_PAPER = {"imperial": "us-letter", "metric": "a4"}
_PAGE_PX = (680.0, 860.0)
"""What is free on the narrower and the lower of the two papers, in CSS pixels."""
_HEAD = (
    ("Reference", "reference"),
    ("Place", "place"),
    ("Customer", "customer"),
    ("Prepared by", "prepared_by"),
)


class Receipts(msgspec.Struct, frozen=True, kw_only=True):
    """The digests of the request and of the answer that the sheet belongs to."""

    request: str
    result: str


def sheet_data(
    found: Quoted, shown: QuoteAnswer, form: QuoteForm, rules: RuleSet, receipts: Receipts
) -> dict[str, Any]:
    """Return all that the sheet of a suitable job says, in plain text and pictures.

    `shown` is the answer to the same request, whose numbers the sheet holds.
    """
    assert found.job is not None
    assert found.reckoned is not None
    system = form.units or rules.units
    return {
        "paper": _PAPER[system],
        **_head(form.job),
        **_receipt(rules, receipts),
        **safety(found, shown, rules),
        "load": load(found.reckoned, system),
        "mesh_weight": _mesh_weight(shown),
        "tools": tools(shown),
        "sections": channels(found.job, found.reckoned, shown, system),
        **_cutting(found, found.job, found.reckoned, rules, system),
        **_estimate(shown, rules, system),
        "sequence": _sequence(found.job, shown),
        "labour": labour_plan(shown),
        "signatures": list(SIGNATURES),
    }


def _head(job: JobForm) -> dict[str, Any]:
    told = [(label, line(getattr(job, name))) for label, name in _HEAD]
    title = line(job.title) or "Wire-mesh barrier"
    return {
        "title": title,
        "document": unbroken(job.title) or title,
        "short": (line(job.reference) or title)[:40],
        "head": [{"label": label, "text": text} for label, text in told if text],
        "note": lines(job.note),
    }


def _receipt(rules: RuleSet, receipts: Receipts) -> dict[str, str]:
    code = f"{rules.name}\nrequest {receipts.request}\nresult {receipts.result}"
    return {
        "ruleset": rules.name,
        "digest": rules.digest,
        "engine": ENGINE,
        "request": receipts.request,
        "result": receipts.result,
        "code": qr_code(code),
    }


def _mesh_weight(shown: QuoteAnswer) -> str | None:
    heavy = shown.bill.mesh_weight if shown.bill is not None else None
    return heavy.text if heavy is not None else None


def _cutting(
    found: Quoted, job: Job, reckoned: Reckoned, rules: RuleSet, system: System
) -> dict[str, Any]:
    """Return the drawings, the cut list and the cut plan of the planes that are drawn."""
    titles = plane_titles(job.laid)
    rolls = rolls_of(found, titles)
    planes = [area.plane for area in job.laid]
    drawn = draw_printed_plans(planes, rules, system, _PAGE_PX) if planes else None
    tabs = [tab for plane in planes for run in plane.runs for tab in run.placed.tabs]
    plans = zip(titles, planes, drawn.plans if drawn else (), strict=True)
    return {
        "plans": [_plan(title, plane, plan, system) for title, plane, plan in plans],
        "legend": lettered(drawn.legend) if drawn else None,
        "narrow_legend": lettered(drawn.narrow_legend) if drawn else None,
        "cuts": cut_list(job.laid, titles, rolls, system),
        "marks_key": marks_key({tab.side for tab in tabs}),
        "rolls": roll_plan(rolls, len(titles) == 1, system),
    }


def _plan(title: str, plane: LaidPlane, plan: PrintedPlan, system: System) -> dict[str, Any]:
    return {
        "title": title,
        "counts": ", ".join(plane_counts(plane, system)),
        "svg": lettered(plan.svg),
        "alt": f"Plan of {plane_title(plane)}",
        "findings": [{"number": number, "text": text} for number, text in plan.callouts],
        "notes": list(plan.notes),
    }


def _estimate(shown: QuoteAnswer, rules: RuleSet, system: System) -> dict[str, Any]:
    """Return what the thumb rules go by, for arrays that nobody has drawn."""
    told = shown.estimate
    if told is None:
        return {"estimate": [], "estimate_total": "", "estimate_notes": []}
    lap = short(rules.values.lap, system, "up").text
    piece = long(rules.values.piece_length, system, "down").text
    return {
        "estimate": [
            {
                "name": line(one.name),
                "perimeter": one.perimeter.text,
                "corners": str(one.corners) if one.corners is not None else "not told",
                "penetrations": str(one.penetrations),
                "strip": one.strip_width.text if one.strip_width is not None else "none",
            }
            for one in told.arrays
        ],
        "estimate_total": f"{told.perimeter.text} in all",
        "estimate_notes": [
            f"Pieces are at most {piece} long and lap by {lap} at least. Keep laps away from"
            " corners, tabs and penetrations. Write what you measure beside each array."
        ],
    }


def _sequence(job: Job, shown: QuoteAnswer) -> list[dict[str, Any]]:
    counts = msgspec.to_builtins(shown.layout.counts) if shown.layout is not None else {}
    estimated = shown.estimate is not None
    steps = sequence(job.facts, counts, estimated, shown.suitability.attachment)
    return [{"number": number, "text": text} for number, text in enumerate(steps, 1)]
