"""The page that explains the OpenAPI document: every call, every type, examples, and errors."""

from __future__ import annotations

import json
import re
from typing import Any

import msgspec
from litestar import Response
from markupsafe import Markup

from gapwright.api.pages import environment, page, pretty_json
from gapwright.api.problems import KINDS

Schema = dict[str, Any]


class DocumentedCall(msgspec.Struct, frozen=True, kw_only=True):
    """One operation as the page shows it; names of types, where it has them."""

    id: str
    verb: str
    path: str
    summary: str
    description: str
    parameters: list[Schema]
    takes: str
    request: str | None
    examples: Schema
    gives: list[str]
    answer: str | None
    result: str | None
    answers: Schema


def docs_page(openapi: Schema) -> Response[str]:
    """Return the page that explains an OpenAPI document."""
    types = openapi["components"]["schemas"]
    calls = [
        _documented(path, verb, call, types)
        for path, verbs in openapi["paths"].items()
        for verb, call in verbs.items()
    ]
    taken = _reached([call.request for call in calls if call.request], types)
    wrapped = {call.answer for call in calls if call.result}

    def describe(schema: Schema) -> str:
        """Return the description of a field: its own, or that of what it refers to."""
        if "description" in schema:
            return str(schema["description"])
        referred = [*schema.get("anyOf", ()), schema.get("items") or {}, schema]
        found = [types[one["$ref"].rsplit("/", 1)[1]] for one in referred if "$ref" in one]
        return next((str(one["description"]).split("\n\n")[0] for one in found), "")

    return page(
        "docs.html",
        contract=openapi,
        calls=calls,
        types=types,
        request_types=[name for name in types if name in taken],
        answer_types=[name for name in types if name not in taken and name not in wrapped],
        kinds=KINDS,
        describe=describe,
        array_example=_ARRAY_EXAMPLE,
        error_example=_ERROR_EXAMPLE,
    )


_ARRAY_EXAMPLE = {
    "clearance": {"readings": ["4 1/2 in"]},
    "array": {
        "blocks": [
            {
                "rows": 2,
                "columns": 5,
                "long_side": "69 in",
                "short_side": "41 in",
                "row_gap": "1 in",
                "column_gap": "1/2 in",
            }
        ]
    },
    "penetrations": [{"x": "5 ft", "y": "0 in"}],
}
_ERROR_EXAMPLE = {
    "type": "/problems/invalid-request",
    "title": "Invalid request",
    "status": 422,
    "detail": "2 validation errors.",
    "errors": [
        {
            "pointer": "/perimeter",
            "detail": "Expected a perimeter with a unit, such as 90 ft; got the number 90.",
        },
        {"pointer": "/clearence", "detail": "Unknown field 'clearence'. Did you mean 'clearance'?"},
    ],
}


def _documented(path: str, verb: str, call: Schema, types: Schema) -> DocumentedCall:
    body = call.get("requestBody", {}).get("content", {})
    taken, given = body.get("application/json", {}), call["responses"]["200"]["content"]
    answer = given.get("application/json", {})
    name = _ref_name(answer.get("schema", {}))
    result = (
        types[name]["properties"].get("result", {})
        if name and "ruleset" in types[name].get("required", ())
        else {}
    )
    return DocumentedCall(
        id=call["operationId"],
        verb=verb.upper(),
        path=path,
        summary=call["summary"],
        description=str(call.get("description", call["summary"])),
        parameters=call.get("parameters", []),
        takes=call.get("requestBody", {}).get("description", ""),
        request=_ref_name(taken.get("schema", {})),
        examples=taken.get("examples", {}),
        gives=list(given),
        answer=name,
        result=_ref_name(result),
        answers=answer.get("examples", {}),
    )


def _reached(names: list[str], types: Schema) -> set[str]:
    """Return the types that some types refer to, and these."""
    reached: set[str] = set()
    while names:
        name = names.pop()
        if name not in reached:
            reached.add(name)
            refers = re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(types[name]))
            names += refers
    return reached


def _ref_name(schema: Schema) -> str | None:
    return str(schema["$ref"].rsplit("/", 1)[1]) if "$ref" in schema else None


def _type_html(schema: Schema) -> Markup:
    """Return in a few words what a field is, with links to the types it refers to."""
    name = _ref_name(schema)
    if name:
        return Markup('<a href="#type-{0}"><code>{0}</code></a>').format(name)
    if "enum" in schema:
        return Markup(", ").join(
            Markup("<code>{}</code>").format(one) for one in schema["enum"] if one is not None
        )
    for several in ("anyOf", "oneOf"):
        if several in schema:
            options = [one for one in schema[several] if one.get("type") != "null"]
            return Markup(" or ").join(map(_type_html, options))
    if schema.get("type") == "array":
        items = schema.get("items")
        return Markup("list of {}").format(_type_html(items)) if items else Markup("list")
    if isinstance(schema.get("additionalProperties"), dict):
        return Markup("object of {}").format(_type_html(schema["additionalProperties"]))
    return Markup("{}").format(str(schema.get("format") or schema.get("type") or "any value"))


def _curl(call: DocumentedCall, request: object) -> str:
    """Return the command that sends a request."""
    body = pretty_json(request).replace("'", "'\\''")
    return (
        f"curl -s http://127.0.0.1:8642{call.path} -H 'content-type: application/json' \\\n"
        f"  -d '{body}'"
    )


environment.filters.update(type_html=_type_html, curl=_curl)
