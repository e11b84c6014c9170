"""The published contract: an OpenAPI 3.1 document made from the calls and their wire forms.

It is made here rather than by the framework, so that it says all that the wire forms say: refused
unknown members, bounds inside optional members, descriptions, and requests that really work.
"""

from __future__ import annotations

import json
from inspect import cleandoc
from typing import Any

import msgspec

from service.api.bulk import JSON_LINES, MOST_LINES
from service.api.contract_books import BOOK_KINDS, pricebook_paths
from service.api.contract_parts import (
    COMPUTING,
    REF,
    Schema,
    computing_operation,
    headers,
    json_response,
    parameter,
    reading_operation,
    ref,
    refusal,
    refusals,
)
from service.api.draft import DraftAnswer, DraftForm
from service.api.envelope import CautionAnswer, Receipt, RulesetHead
from service.api.health import Liveness, Readiness
from service.api.problems import Problem
from service.api.rulesets import ChangesAnswer, RulesetAnswer, RulesetList, WholeRuleset
from service.calc.clearance import IsolatedReading
from service.calc.layout.result import LayoutResult
from service.calls.array_forms import ArrayForm, RailsForm
from service.calls.computing import CALLS
from service.calls.layout_forms import ARRAY_OR_PLANES, LayoutForm
from service.calls.quote_forms import AreaForm, QuoteForm, QuotePlaneForm
from service.calls.quote_result import QuoteResult
from service.places import shipped
from service.pricebooks.file_schema import write_out
from service.quantity.kinds import Nm, Share, WorkingDay
from service.quantity.output import Quantity, wire_schema
from service.quantity.show import Duration, Length, Weight
from service.rulesets.explanation import Explanation
from service.version import ENGINE

_DESCRIPTION = """\
Answers for a wire-mesh barrier fixed round the edge of a rooftop solar array: may it be done this \
way here, how wide a strip, bent how, how many of everything, with which cautions, under which \
version of whose rules.

A quantity in a request is text with a unit, as a tape reads: `4 1/2 in`, `6' 4 1/2"`, \
`114.3 mm`, `90 ft`. A quantity in an answer is a number with its unit, and text; `rounded` stands \
beside text that could not show the length exactly. Every answer names its rule set with a digest, \
carries the cautions that go with it, and traces its figures to the rules they follow from. \
Local codes and licensed practice come first.
"""


def contract() -> Schema:
    """Return the OpenAPI document."""
    return {
        "openapi": "3.1.0",
        "info": {"title": "gapwright", "version": ENGINE, "description": _DESCRIPTION},
        "paths": _paths(),
        "components": {
            "schemas": _schemas(),
            "headers": headers(),
            "responses": {str(status): refusal(status) for status in COMPUTING},
        },
    }


def _paths() -> Schema:
    computing = _computing_paths() | _drawing_paths() | _sheet_paths() | _bulk_paths()
    return computing | _ruleset_paths() | pricebook_paths() | _system_paths()


def example(name: str) -> Any:  # noqa: ANN401 - any JSON value
    """Return an example request of the published contract."""
    return json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())


def _computing_paths() -> Schema:
    return {
        call.path: {
            "post": computing_operation(
                name=call.path.removeprefix("/v1/").replace("/", "_"),
                summary=call.summary,
                form=call.form,
                result=call.answer,
                examples={name: example(name) for name in call.examples},
            )
        }
        for call in CALLS
    }


def _drawing_paths() -> Schema:
    drawn = computing_operation(
        name="layout_drawing",
        summary="The layout, drawn to scale",
        form=LayoutForm,
        result=LayoutResult,
        examples={"layout-block": example("layout-block")},
    )
    drawn["description"] = "Draw the layout that the same request to /v1/layout answers."
    drawn["responses"]["200"]["content"] = {"image/svg+xml": {"schema": {"type": "string"}}}
    return {"/v1/layout/drawing": {"post": drawn}}


def _sheet_paths() -> Schema:
    names = ("quote-sparse", "quote-house")
    printed = computing_operation(
        name="quote_crew_sheet",
        summary="The whole job as a sheet for the roof, to be printed",
        form=QuoteForm,
        result=QuoteResult,
        examples={name: example(name) for name in names},
    )
    printed["description"] = (
        "Print what a crew needs of the quote that the same request to /v1/quote answers, with its"
        " receipt and without its prices; letter paper for imperial units, A4 for metric ones."
    )
    pdf = {"schema": {"type": "string", "contentMediaType": "application/pdf"}}
    printed["responses"]["200"]["content"] = {"application/pdf": pdf}
    return {"/v1/quote/crew-sheet": {"post": printed}}


def _bulk_paths() -> Schema:
    """Return the call that quotes many jobs; JSON Schema has no word for a body of lines."""
    kinds = [kind.decode() for kind in JSON_LINES]
    return {
        "/v1/quotes": {
            "post": {
                "operationId": "quotes",
                "summary": "Many jobs in one call: JSON Lines in and out",
                "description": (
                    "Each line is a request to /v1/quote. Each is answered, in order, by a line"
                    " with the members `line` (its number, from 1), `status`, and `answer` or"
                    " `problem`: what /v1/quote alone answers. Blank lines are passed over. Read"
                    f" while you write; at most {MOST_LINES} lines are answered in one call."
                ),
                "requestBody": {"content": {kind: {"schema": {}} for kind in kinds}},
                "responses": {
                    "200": {
                        "description": "A line for each line.",
                        "content": {kinds[0]: {"schema": {}}},
                    },
                    **refusals((415, 422, 500)),
                },
            }
        }
    }


def _ruleset_paths() -> Schema:
    identifier = parameter("identifier", "path", "baseline", "The rule set's id.")
    version = parameter("version", "path", "1.1.0", "One of its published versions.")
    since = parameter("since", "query", "1.0.0", "The version to compare with.")
    one = (identifier, version)
    return {
        "/v1/rulesets": {"get": reading_operation("rulesets", "Which rule sets", RulesetList)},
        "/v1/rulesets/check": {
            "post": computing_operation(
                name="check",
                summary="A draft rule file, judged: every fault, or what it proves and changes",
                form=DraftForm,
                result=DraftAnswer,
                examples={"check-draft": example("check-draft")},
            )
        },
        "/v1/rulesets/{identifier}": {
            "get": reading_operation("ruleset", "Its versions", RulesetAnswer, (identifier,))
        },
        "/v1/rulesets/{identifier}/{version}": {
            "get": reading_operation(
                "version", "One version, whole, with sources", WholeRuleset, one, lasting=True
            )
        },
        "/v1/rulesets/{identifier}/{version}/changes": {
            "get": reading_operation(
                "changes", "What changed since another", ChangesAnswer, (*one, since), lasting=True
            )
        },
    }


def _system_paths() -> Schema:
    alive = {"200": json_response("The process is alive.", ref(Liveness))}
    ready = {
        "200": json_response("The default rule set can be served.", ref(Readiness)),
        "503": {"$ref": "#/components/responses/503"},
    }
    return {
        "/livez": {"get": {"operationId": "livez", "summary": "Alive", "responses": alive}},
        "/readyz": {"get": {"operationId": "readyz", "summary": "Ready", "responses": ready}},
    }


def _schemas() -> Schema:
    kinds = [kind for call in CALLS for kind in (call.form, call.answer)]
    kinds += [DraftForm, DraftAnswer, RulesetList, RulesetAnswer, WholeRuleset, ChangesAnswer]
    kinds += BOOK_KINDS
    kinds += [RulesetHead, CautionAnswer, Explanation, Receipt, Problem, Liveness, Readiness]
    kinds += [Length, Weight, Duration, IsolatedReading]
    _, schemas = msgspec.json.schema_components(
        kinds, schema_hook=_quantity_schema, ref_template=REF
    )
    also = {call.form.__name__: call.form.also for call in CALLS}
    also |= {form.__name__: form.also for form in (AreaForm, ArrayForm, QuotePlaneForm, RailsForm)}
    also["ArraysForm"] = ARRAY_OR_PLANES
    for name, more in also.items():
        schemas[name].update(more)
    write_out(schemas, REF)
    for schema in schemas.values():
        if "description" in schema:
            schema["description"] = cleandoc(schema["description"])
    return dict(sorted(schemas.items()))


def _quantity_schema(kind: type) -> Schema:
    if issubclass(kind, Quantity):
        return wire_schema(kind, REF)
    if not issubclass(kind, (Nm, Share, WorkingDay)):  # pragma: no cover - a bug in a form
        raise NotImplementedError(kind)
    described = f"{kind.means}, from {kind.least} to {kind.most}."
    return {
        "type": "string",
        "format": kind.format,
        "description": described[0].upper() + described[1:],
        "examples": [kind.example],
    }
