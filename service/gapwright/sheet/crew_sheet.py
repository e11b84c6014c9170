"""Data of the crew sheet for a quoted job, ready for the template."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import msgspec

from gapwright.calc.conditions import cautions
from gapwright.calc.quote.compute import JobFigures
from gapwright.calls.quote import Quote, quote
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.quote_result import quote_result
from gapwright.canonical import digest
from gapwright.drawing import SHAPE
from gapwright.errors import CrewSheetUnavailableError, Fault
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.quantity.output import encode
from gapwright.quantity.show import System, long, short
from gapwright.rulesets.figures import present
from gapwright.rulesets.ruleset import RuleSet
from gapwright.sheet import texts
from gapwright.sheet.cut_list import Answer, channel_sections, plans_and_cuts
from gapwright.sheet.pdf import qr_code
from gapwright.sheet.printable import breakable, breakable_lines, breakable_texts, single_line
from gapwright.version import ENGINE

_PAPER = {"imperial": "us-letter", "metric": "a4"}
_PRINTED = ("suitability", "assumptions", "sizing", "tools", "labor", "schedule", "estimate")
"""Members of the quote's result that the template reads itself."""


class Receipts(msgspec.Struct, frozen=True, kw_only=True):
    """Digests of the request and the answer that the sheet was made from."""

    request: str
    result: str


def crew_sheet(
    request: QuoteRequest, canonical: bytes, rules: RuleSet, book: PriceBook | None, as_of: date
) -> dict[str, Any]:
    """Return what the sheet says, with the receipt of the quote that the same request answers.

    `canonical` is the request in canonical request, `as_of` the day of the answer. Raises
    InvalidRequestError, and CrewSheetUnavailableError for a job that no crew may be sent to.
    """
    found = quote(request, rules, book)
    result = encode(quote_result(found, request, rules), request.units or rules.units)
    answer: dict[str, Any] = msgspec.json.decode(result)
    if obstacles := tuple(_obstacles(answer)):
        raise CrewSheetUnavailableError(obstacles)
    receipts = Receipts(request=digest(canonical).decode(), result=digest(result).decode())
    return sheet_data(found, answer, request, rules, receipts, as_of)


def _obstacles(answer: dict[str, Any]) -> Iterator[Fault]:
    """Yield why no crew may be sent: reasons against the job, and arrays that no strip suits."""
    for one in answer["suitability"]["reasons"]:
        if one["price"] == "withheld":
            remedy = one["remedy"] or "Nothing in the request can change that."
            yield Fault(path=(), problem=one["text"], remedy=remedy)
    for sizing in answer["sizing"]:
        if sizing["strip"]["width"] is None:
            problem = f"No stock strip is wide enough for {', '.join(sizing['arrays'])}."
            remedy = " ".join(advice["text"] for advice in sizing["advice"])
            yield Fault(path=("planes",), problem=problem, remedy=remedy)


def sheet_data(
    found: Quote,
    answer: Answer,
    request: QuoteRequest,
    rules: RuleSet,
    receipts: Receipts,
    as_of: date,
) -> dict[str, Any]:
    """Return everything on the sheet of a suitable job: plain data and pictures for the template.

    `answer` is the result of the quote as JSON data. The sheet prints its texts, so each figure
    reads the same on paper and in the answer.
    """
    assert found.job is not None
    assert found.figures is not None
    system = request.units or rules.units
    mesh_weight = (answer["bill"] or {}).get("mesh_weight")
    title = breakable(request.job.title) or "Wire-mesh barrier"
    return {
        "paper": _PAPER[system],
        "title": title,
        "document": single_line(request.job.title) or title,
        "short": (breakable(request.job.reference) or title)[:40],
        "date": as_of.isoformat(),
        "shape": SHAPE,
        "job": breakable_texts(msgspec.to_builtins(request.job)),
        "note": breakable_lines(request.job.note),
        **_receipt(rules, receipts),
        **safety(found, rules),
        "answer": breakable_texts({name: answer[name] for name in _PRINTED}),
        "load": list(_load(found.figures, answer, system)),
        "mesh_weight": mesh_weight["text"] if mesh_weight else None,
        "sections": channel_sections(found.job, found.figures, answer, system),
        **plans_and_cuts(found.job, answer, rules, system),
        "overlap": short(rules.values.overlap_length, system, "up").text,
        "piece": long(rules.values.piece_length, system, "down").text,
        "sequence": list(
            texts.sequence_of_work(
                found.job.facts,
                answer["layout"]["counts"] if answer["layout"] else {},
                answer["estimate"] is not None,
                answer["suitability"]["attachment"],
            )
        ),
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


def safety(found: Quote, rules: RuleSet) -> dict[str, Any]:
    """Return the cautions, most severe first, and the checks, which cite them by number."""
    given = sorted(cautions(found.facts, rules), key=lambda c: texts.SEVERITIES.index(c.severity))
    numbers = {caution.id: number for number, caution in enumerate(given, 1)}

    def checks(wanted: texts.Checks) -> list[dict[str, Any]]:
        return [
            {"text": text, "see": sorted(numbers[name] for name in names if name in numbers)}
            for text, names in wanted
        ]

    return {
        "cautions": [
            {"word": one.severity.upper(), "text": one.text, "source": one.source} for one in given
        ],
        "before_closing": checks(texts.BEFORE_CLOSING),
        "before_leaving": checks(texts.BEFORE_LEAVING),
    }


def _load(figures: JobFigures, answer: Answer, system: System) -> Iterator[dict[str, str]]:
    """Yield a line per item: packs to load, quantity used, quantity remaining."""
    rows = figures.bill.rows.value
    uses, orders = (present(row.use for row in rows), present(row.order for row in rows))
    for use, order, shown in zip(uses, orders, answer["bill"]["order"], strict=True):
        strip = order.strip_width
        width = f", strip {strip.text(system)} wide, {SHAPE}" if strip else ""
        content = f" × {order.pack} of {order.pack_size.text(system)}"
        yield {
            "packs": f"{order.packs}{content if order.pack_size.amount > 1 else ''}",
            "item": f"{order.description}{width}",
            "uses": use.quantity.text(system),
            "left": order.remaining.text(system),
            "weight": shown["weight"]["text"] if shown["weight"] else "",
        }
