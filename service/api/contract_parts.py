"""The parts that operations of the published contract are made of."""

from __future__ import annotations

from inspect import cleandoc
from typing import Any

from service.api.envelope import CautionAnswer, Receipt, RulesetHead
from service.api.problems import KINDS, MEDIA_TYPE, Problem
from service.rulesets.explanation import Explanation

Schema = dict[str, Any]
REF = "#/components/schemas/{name}"
COMPUTING = (400, 404, 409, 413, 415, 422, 500, 503)
"""Refusals of a computing call."""
READING = (404, 422, 500, 503)
"""Refusals of a call that shows rule sets or price books."""


def ref(kind: type) -> Schema:
    """Return a reference to a wire form's schema."""
    return {"$ref": REF.format(name=kind.__name__)}


def computing_operation(
    name: str, summary: str, form: type, result: type, examples: dict[str, Any]
) -> Schema:
    """Return the operation of a POST that computes and answers in the envelope."""
    shown = {title: {"value": value} for title, value in examples.items()}
    return {
        "operationId": name,
        "summary": summary,
        "description": cleandoc(form.__doc__ or ""),
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": ref(form), "examples": shown}},
        },
        "responses": {
            "200": json_response("The answer.", _envelope(result)),
            **refusals(COMPUTING),
        },
    }


def reading_operation(
    name: str,
    summary: str,
    answer: type,
    parameters: tuple[Schema, ...] = (),
    lasting: bool = False,
) -> Schema:
    """Return the operation of a GET of what is published; a lasting answer can be cached."""
    responses: Schema = {"200": json_response("The answer.", ref(answer))}
    if lasting:
        etag = {"description": "The digest of what is answered.", "schema": {"type": "string"}}
        responses["200"]["headers"] = {**header_refs(), "ETag": etag}
        responses["304"] = {"description": "The answer that the caller has still holds."}
    return {
        "operationId": name,
        "summary": summary,
        "parameters": list(parameters),
        "responses": {**responses, **refusals(READING)},
    }


def parameter(name: str, place: str, shown: str, description: str) -> Schema:
    """Return a parameter of the path or the query that names an id or a version."""
    schema = {"type": "string", "minLength": 1, "maxLength": 80, "pattern": "^[a-z0-9.-]+$"}
    return {
        "name": name,
        "in": place,
        "required": True,
        "description": description,
        "schema": schema,
        "example": shown,
    }


def json_response(description: str, schema: Schema) -> Schema:
    """Return a JSON response, with the headers that all answers carry."""
    return {
        "description": description,
        "headers": header_refs(),
        "content": {"application/json": {"schema": schema}},
    }


def refusal(status: int) -> Schema:
    """Return the response of a refusal: what it can mean, as a problem document."""
    titles = sorted(kind.title for kind in KINDS.values() if kind.status == status)
    return {
        "description": ". ".join(titles) + ".",
        "headers": header_refs(),
        "content": {MEDIA_TYPE: {"schema": ref(Problem)}},
    }


def headers() -> Schema:
    """Return the headers that answers carry."""
    told = {
        "X-Request-ID": "The id of the request: the caller's own, or one that was made.",
        "Gapwright-Ruleset": "The rule set that was followed, as id@version.",
        "Gapwright-Ruleset-Digest": "The digest of that rule set's content.",
    }
    return {n: {"description": d, "schema": {"type": "string"}} for n, d in told.items()}


def header_refs() -> Schema:
    """Return references to the headers that answers carry."""
    return {name: {"$ref": f"#/components/headers/{name}"} for name in headers()}


def refusals(statuses: tuple[int, ...]) -> Schema:
    """Return references to the refusals of these statuses."""
    return {str(status): {"$ref": f"#/components/responses/{status}"} for status in statuses}


def _envelope(result: type) -> Schema:
    members: Schema = {
        "ruleset": ref(RulesetHead),
        "engine": {"type": "string", "description": "The version of the service's engine."},
        "result": ref(result),
        "cautions": {"type": "array", "items": ref(CautionAnswer)},
        "explanation": ref(Explanation),
        "receipt": ref(Receipt),
    }
    return {
        "type": "object",
        "properties": members,
        "required": [name for name in members if name != "explanation"],
        "additionalProperties": False,
    }
