"""The crew sheet of a quoted job, gathered as plain data to be typeset."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec

from service.calc.conditions import cautions
from service.calc.quote.compute import JobFigures
from service.calls.quote import Quote
from service.calls.quote_request import JobForm, QuoteForm
from service.quantity.show import System, long, short
from service.rulesets.ruleset import RuleSet
from service.sheet import texts
from service.sheet.cutting import Answer, channel_sections, plans_and_cuts
from service.sheet.pdf import qr_code
from service.sheet.printable import breakable, breakable_lines, single_line
from service.version import ENGINE

_PAPER = {"imperial": "us-letter", "metric": "a4"}
_HEAD = (
    ("Reference", "reference"),
    ("Place", "place"),
    ("Customer", "customer"),
    ("Prepared by", "prepared_by"),
)
_PLANNING = ("crew", "working_day")
"""Assumptions that the labor plan shows; nobody can compare them on site."""


_NOTE_TO_AUTHORS = " For the company to calibrate."


class Receipts(msgspec.Struct, frozen=True, kw_only=True):
    """The digests of the request and of the answer that the sheet belongs to."""

    request: str
    result: str


def sheet_data(
    found: Quote, answer: Answer, form: QuoteForm, rules: RuleSet, receipts: Receipts
) -> dict[str, Any]:
    """Return all that the sheet of a suitable job says, in plain text and pictures.

    `answer` is the result of the quote as JSON data: the sheet prints its texts, so that a figure
    reads alike on paper and in the answer.
    """
    assert found.job is not None
    assert found.figures is not None
    system = form.units or rules.units
    mesh_weight = (answer["bill"] or {}).get("mesh_weight")
    tools = answer["tools"] or {"needed": (), "helpful": ()}
    steps = texts.sequence_of_work(
        found.job.facts,
        answer["layout"]["counts"] if answer["layout"] else {},
        answer["estimate"] is not None,
        answer["suitability"]["attachment"],
    )
    return {
        "paper": _PAPER[system],
        **_head(form.job),
        **_receipt(rules, receipts),
        **safety(found, answer, rules),
        "load": list(_load(found.figures, answer, system)),
        "mesh_weight": mesh_weight["text"] if mesh_weight else None,
        "tools": [tool["description"] for tool in tools["needed"]],
        "helpful_tools": [tool["description"] for tool in tools["helpful"]],
        "sections": channel_sections(found.job, found.figures, answer, system),
        **plans_and_cuts(found.job, answer, rules, system),
        **_estimate(answer, rules, system),
        "sequence": [{"number": n, "text": text} for n, text in enumerate(steps, 1)],
        "labor": _labor(answer),
        "signatures": texts.SIGNATURES,
    }


def _head(job: JobForm) -> dict[str, Any]:
    fields = [(label, breakable(getattr(job, name))) for label, name in _HEAD]
    title = breakable(job.title) or "Wire-mesh barrier"
    return {
        "title": title,
        "document": single_line(job.title) or title,
        "short": (breakable(job.reference) or title)[:40],
        "head": [{"label": label, "text": text} for label, text in fields if text],
        "note": breakable_lines(job.note),
    }


def _receipt(rules: RuleSet, receipts: Receipts) -> dict[str, str]:
    return {
        "ruleset": rules.name,
        "digest": rules.digest,
        "engine": ENGINE,
        "request": receipts.request,
        "result": receipts.result,
        "code": qr_code(f"{rules.name}\nrequest {receipts.request}\nresult {receipts.result}"),
    }


def safety(found: Quote, answer: Answer, rules: RuleSet) -> dict[str, Any]:
    """Return cautions, verdict, assumptions and checks, which cite the cautions by number."""
    gravest_first = sorted(
        cautions(found.facts, rules), key=lambda c: texts.SEVERITIES.index(c.severity)
    )
    numbers = {caution.id: number for number, caution in enumerate(gravest_first, 1)}
    not_told = [
        texts.SITE_FACTS[one["fact"]]
        for one in answer["suitability"]["assumptions"]
        if one["fact"] in texts.SITE_FACTS
    ]
    return {
        "cautions": [
            {
                "number": numbers[caution.id],
                "word": caution.severity.upper(),
                "text": caution.text,
                "source": caution.source,
            }
            for caution in gravest_first
        ],
        "verdict": _verdict(answer["suitability"]),
        "assumptions": [
            {"means": _means(one), "value": one["taken"], "range": f"{one['from']} to {one['to']}"}
            for one in answer["assumptions"]
            if one["name"] not in _PLANNING
        ],
        "assumed_no": f"{', '.join(not_told)}." if not_told else "",
        "before_closing": _checks(texts.BEFORE_CLOSING, numbers),
        "before_leaving": _checks(texts.BEFORE_LEAVING, numbers),
    }


def _verdict(suitability: dict[str, Any]) -> dict[str, Any]:
    """Return the verdict: what is to be settled before work begins, and the other reasons."""
    conditions: list[str] = []
    reasons: list[str] = []
    for one in suitability["reasons"]:
        settle = one["verdict"] in ("conditional", "survey")
        text = f"{one['reason']} {one['remedy'] or ''}".strip()
        (conditions if settle else reasons).append(text)
    shape, note = suitability["shape"], suitability["note"]
    attachment = texts.ATTACHMENTS[suitability["attachment"]]
    survey = f"{texts.SURVEY} {note or ''}".strip()
    return {
        "word": texts.VERDICTS[suitability["verdict"]],
        "attachment": f"{attachment}{'' if shape == 'undecided' else f'; shape {shape}'}.",
        "note": survey if suitability["verdict"] == "survey" else note,
        "conditions": [{"text": text, "see": []} for text in conditions],
        "reasons": reasons,
    }


def _checks(
    checks: Sequence[tuple[str, Sequence[str]]], numbers: Mapping[str, int]
) -> list[dict[str, Any]]:
    return [
        {"text": text, "see": sorted(numbers[name] for name in names if name in numbers)}
        for text, names in checks
    ]


def _load(figures: JobFigures, answer: Answer, system: System) -> Iterator[dict[str, str]]:
    """Yield a line for each item: what to load, what the job uses of it, what is left over."""
    rows = zip(figures.bill.uses, figures.bill.orders, answer["bill"]["order"], strict=True)
    for used, ordered, shown in rows:
        use, order = used.value, ordered.value
        width = f", strip {order.strip_width.text(system)} wide" if order.strip_width else ""
        content = f" × {order.pack} of {order.holds.text(system)}"
        yield {
            "packs": f"{order.packs}{content if order.holds.amount > 1 else ''}",
            "item": f"{order.description}{width}",
            "uses": use.quantity.text(system),
            "left": order.left_over.text(system),
            "weight": shown["weight"]["text"] if shown["weight"] else "",
        }


def _estimate(answer: Answer, rules: RuleSet, system: System) -> dict[str, Any]:
    """Return the figures of the quick estimate, for arrays that nobody has drawn."""
    estimate = answer["estimate"]
    if estimate is None:
        return {"estimate": [], "estimate_total": "", "estimate_note": ""}
    overlap = short(rules.values.lap, system, "up").text
    piece = long(rules.values.piece_length, system, "down").text
    return {
        "estimate": [
            {
                "name": breakable(one["name"]),
                "perimeter": one["perimeter"]["text"],
                "corners": "not told" if one["corners"] is None else str(one["corners"]),
                "penetrations": str(one["penetrations"]),
                "strip": one["strip_width"]["text"] if one["strip_width"] else "none",
            }
            for one in estimate["arrays"]
        ],
        "estimate_total": f"{estimate['perimeter']['text']} in all",
        "estimate_note": f"Pieces are at most {piece} long and lap by {overlap} at least. Keep laps"
        " away from corners, tabs and penetrations. Write what you measure beside each array.",
    }


def _labor(answer: Answer) -> dict[str, Any] | None:
    """Return the hours by task; None where the rule set has no rates."""
    labor, schedule = answer["labour"], answer["schedule"]
    if labor is None or schedule is None:
        return None
    note = (
        f"Times are of one person: {labor['person_hours']['text']} in all,"
        f" {schedule['hours_on_site']['text']} on site,"
        f" in days of {schedule['working_day']['text']}."
    )
    if labor["untold"]:
        note += f" Not told, so not counted: {', '.join(labor['untold'])}."
    days = labor["days"]
    return {
        "crew": f"crew of {labor['crew']}, {days:g} {'day' if days == 1 else 'days'}",
        "rows": [
            {"means": _means(row), "time": row["time"]["text"]}
            for row in (*labor["tasks"], *labor["surcharges"])
        ],
        "note": note,
    }


def _means(row: dict[str, Any]) -> str:
    """Return what a task, surcharge or assumption means, without notes to the rules' authors."""
    share = f" Adds {row['share']:g} %." if "share" in row else ""
    return f"{row['means'].removesuffix(_NOTE_TO_AUTHORS)}{share}"
