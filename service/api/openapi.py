"""The published contract: an OpenAPI 3.1 document made from the routes and their structs.

Each route carries its `Operation`; paths, methods, parameters and schemas follow from the routes
and from the structs that they read and write. It is made here rather than by the framework, whose
document leaves out refused unknown members and bounds inside optional members.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from inspect import cleandoc
from typing import Any

import msgspec
from litestar.routes import BaseRoute, HTTPRoute

from service.api.operation import Operation, Parameter, example
from service.api.problems import KINDS, MEDIA_TYPE, Problem
from service.calc.clearance import IsolatedReading
from service.calls.array_forms import ArrayForm, RailsForm
from service.calls.computing import CALLS
from service.calls.layout_forms import ARRAY_OR_PLANES
from service.calls.quote_forms import AreaForm, QuotePlaneForm
from service.pricebooks.file_schema import write_out
from service.quantity.kinds import Nm, Share, WorkingDay
from service.quantity.output import WIRE_STRUCTS, Quantity, wire_schema
from service.version import ENGINE

Schema = dict[str, Any]

_REF = "#/components/schemas/{name}"
_DESCRIPTION = """\
Answers for a wire-mesh barrier fixed round the edge of a rooftop solar array: may it be done this \
way here, how wide a strip, bent how, how many of everything, with which cautions, under which \
version of whose rules.

A quantity in a request is text with a unit, as a tape reads: `4 1/2 in`, `6' 4 1/2"`, \
`114.3 mm`, `90 ft`. A quantity in an answer is a number with its unit, and text; `rounded` stands \
beside text that could not show the length exactly. Every answer names its rule set with a digest, \
carries the cautions that go with it, and says on request (`explain`) which rules each figure follows from. \
Local codes and licensed practice come first.
"""
_HEADERS = {
    "X-Request-ID": "The id of the request: the caller's own, or one that was made.",
    "Gapwright-Ruleset": "The rule set that was followed, as id@version.",
    "Gapwright-Ruleset-Digest": "The digest of that rule set's content.",
}
_HEADER_REFS = {name: {"$ref": f"#/components/headers/{name}"} for name in _HEADERS}


def openapi_document(routes: Sequence[BaseRoute]) -> Schema:
    """Return the OpenAPI document of an application's routes; those without operation are pages."""
    paths: dict[str, Schema] = {}
    operations = []
    for path, method, operation in _operations(routes):
        operations.append(operation)
        paths.setdefault(path, {})[method] = _operation(path, operation)
    statuses = sorted({status for operation in operations for status in operation.refusals})
    return {
        "openapi": "3.1.0",
        "info": {"title": "gapwright", "version": ENGINE, "description": _DESCRIPTION},
        "paths": paths,
        "components": {
            "schemas": _schemas(operations),
            "headers": {
                name: {"description": description, "schema": {"type": "string"}}
                for name, description in _HEADERS.items()
            },
            "responses": {str(status): _refusal(status) for status in statuses},
        },
    }


def _operations(routes: Sequence[BaseRoute]) -> Iterator[tuple[str, str, Operation]]:
    """Yield the path, method and operation of each route that is part of the contract."""
    for route in routes:
        if isinstance(route, HTTPRoute):
            for handler in route.route_handlers:
                if "operation" in handler.opt:
                    for method in sorted(handler.http_methods):
                        yield route.path_format, str(method.lower()), handler.opt["operation"]
        else:  # a plain ASGI handler checks the method itself; ours take POST
            operation = route.route_handler.opt.get("operation")  # type: ignore[attr-defined]
            if operation is not None:
                yield route.path_format, "post", operation


def _operation(path: str, operation: Operation) -> Schema:
    answer = {"schema": _ref(operation.answer)} if operation.answer else _raw(operation)
    responses: dict[str, Schema] = {
        "200": {
            "description": operation.answer_description,
            "headers": dict(_HEADER_REFS),
            "content": {operation.answer_media_type: answer},
        }
    }
    if operation.lasting:
        etag = {"description": "The digest of what is answered.", "schema": {"type": "string"}}
        responses["200"]["headers"]["ETag"] = etag
        responses["304"] = {"description": "The answer that the caller has still holds."}
    for status in operation.refusals:
        responses[str(status)] = {"$ref": f"#/components/responses/{status}"}
    parts: Schema = {"operationId": operation.id, "summary": operation.summary}
    if operation.description:
        parts["description"] = operation.description
    if operation.parameters:
        parts["parameters"] = [_parameter(path, one) for one in operation.parameters]
    if operation.request is not None:
        examples = {name: {"value": example(name)} for name in operation.examples}
        content = {"schema": _ref(operation.request), "examples": examples}
        parts["requestBody"] = {"required": True, "content": {"application/json": content}}
    elif operation.request_media_types:
        types = operation.request_media_types
        parts["requestBody"] = {"content": {name: {"schema": {}} for name in types}}
    return {**parts, "responses": responses}


def _raw(operation: Operation) -> Schema:
    """Return the content of an answer that is not JSON."""
    if operation.answer_media_type == "application/pdf":
        return {"schema": {"type": "string", "contentMediaType": "application/pdf"}}
    if operation.answer_media_type.startswith("image/"):
        return {"schema": {"type": "string"}}
    return {"schema": {}}  # JSON Schema has no word for lines of JSON


def _parameter(path: str, parameter: Parameter) -> Schema:
    return {
        "name": parameter.name,
        "in": "path" if f"{{{parameter.name}}}" in path else "query",
        "required": True,
        "description": parameter.description,
        "schema": {"type": "string", "minLength": 1, "maxLength": 80, "pattern": "^[a-z0-9.-]+$"},
        "example": parameter.example,
    }


def _refusal(status: int) -> Schema:
    """Return the response of a refusal: what it can mean, as a problem document."""
    titles = sorted(kind.title for kind in KINDS.values() if kind.status == status)
    return {
        "description": ". ".join(titles) + ".",
        "headers": dict(_HEADER_REFS),
        "content": {MEDIA_TYPE: {"schema": _ref(Problem)}},
    }


def _ref(kind: Any) -> Schema:  # noqa: ANN401 - a struct, or a generic one with its argument
    (schema,), _ = msgspec.json.schema_components(
        [kind], schema_hook=_quantity_schema, ref_template=_REF
    )
    return schema


def _schemas(operations: Sequence[Operation]) -> dict[str, Schema]:
    kinds = [kind for one in operations for kind in (one.request, one.answer) if kind is not None]
    _, schemas = msgspec.json.schema_components(
        [*kinds, *WIRE_STRUCTS, IsolatedReading, Problem],
        schema_hook=_quantity_schema,
        ref_template=_REF,
    )
    # what the types cannot say: which members go together, and how amounts of money are written
    forms = [*(call.form for call in CALLS), AreaForm, ArrayForm, QuotePlaneForm, RailsForm]
    for form in forms:
        schemas[form.__name__].update(form.also)  # type: ignore[attr-defined]
    schemas["ArraysForm"].update(ARRAY_OR_PLANES)
    write_out(schemas, _REF)
    for schema in schemas.values():
        if "description" in schema:
            schema["description"] = cleandoc(schema["description"])
    return dict(sorted(schemas.items()))


def _quantity_schema(kind: type) -> Schema:
    if issubclass(kind, Quantity):
        return wire_schema(kind, _REF)
    if not issubclass(kind, (Nm, Share, WorkingDay)):  # pragma: no cover - a bug in a form
        raise NotImplementedError(kind)
    described = f"{kind.means}, from {kind.least} to {kind.most}."
    return {
        "type": "string",
        "format": kind.format,
        "description": described[0].upper() + described[1:],
        "examples": [kind.example],
    }
