"""The published contract: an OpenAPI 3.1 document made from the routes and their structs.

Each route carries its `Operation`; paths, methods, parameters and schemas follow from the routes
and from the structs that they read and write. It is made here rather than by the framework, whose
document leaves out refused unknown members and bounds inside optional members.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from inspect import cleandoc
from typing import Any, TypeVar

import msgspec
from litestar.routes import BaseRoute, HTTPRoute

from gapwright.api.problems import KINDS, MEDIA_TYPE, Problem
from gapwright.places import shipped
from gapwright.pricebooks.file_schema import write_out
from gapwright.quantity.kinds import Exact, Nm
from gapwright.quantity.output import Quantity, wire_schema
from gapwright.version import ENGINE

T = TypeVar("T")
Schema = dict[str, Any]

COMPUTING = (400, 404, 409, 413, 415, 422, 500, 503)
"""Refusals of a computing call."""
READING = (404, 422, 500, 503)
"""Refusals of a call that shows rule sets or price books."""


class Parameter(msgspec.Struct, frozen=True):
    """A parameter of the path, or else of the query, that names an id or a version."""

    name: str
    example: str
    description: str


class Operation(msgspec.Struct, frozen=True, kw_only=True):
    """One operation; a route carries it as `opt={"operation": Operation(...)}`.

    `request` is the type of a JSON body and `answer` that of a JSON answer; a body or an answer
    of another media type has no schema. `examples` and `answers` name files in the folders of
    openapi. An answer with an `etag` can be cached.
    """

    id: str
    summary: str
    description: str = ""
    request: Any = None
    request_media_types: tuple[str, ...] = ()
    examples: tuple[str, ...] = ()
    parameters: tuple[Parameter, ...] = ()
    answer: Any = None
    answers: tuple[str, ...] = ()
    answer_media_types: tuple[str, ...] = ("application/json",)
    answer_description: str = "The answer."
    etag: bool = False
    refusals: tuple[int, ...] = COMPUTING


def example(name: str, folder: str = "examples") -> Any:  # noqa: ANN401 - any JSON value
    """Return an example request of the published contract, or one of its `answers`."""
    return json.loads((shipped("openapi") / folder / f"{name}.json").read_bytes())


_REF = "#/components/schemas/{name}"
_DESCRIPTION = """\
Answers for a wire-mesh barrier fixed round the edge of a rooftop solar array: may it be done this \
way here, how wide a strip, bent how, how many of everything, with which cautions, under which \
version of whose rules.

A quantity in a request is text with a unit, as a tape reads: `4 1/2 in`, `6' 4 1/2"`, \
`114.3 mm`, `90 ft`. A quantity in an answer is a number with its unit, and text; `rounded` stands \
beside text that could not show the length exactly. Every answer names its rule set with a digest \
and carries the cautions that go with it. Local codes and licensed practice come first.

A request to any computing call may say `"explain": true`: the answer then has an `explanation`, \
which tells each rule once and for each figure, by its JSON pointer into `result`, the rules that \
it was computed from. /v1/sizing has an example.
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
    content: Schema = {}
    for name in operation.answer_media_types:
        content[name] = {"schema": _ref(operation.answer) if operation.answer else _raw(name)}
        if operation.answers:
            content[name]["examples"] = {
                name: {"value": example(name, "answers")} for name in operation.answers
            }
    success: Schema = {
        "description": operation.answer_description,
        "headers": dict(_HEADER_REFS),
        "content": content,
    }
    responses: dict[str, Schema] = {"200": success}
    if operation.etag:
        etag = {"description": "An entity tag of the content.", "schema": {"type": "string"}}
        success["headers"]["ETag"] = etag
        responses["304"] = {"description": "Not modified."}
    for status in operation.refusals:
        responses[str(status)] = {"$ref": f"#/components/responses/{status}"}
    parts: Schema = {"operationId": operation.id, "summary": operation.summary}
    if operation.description:
        parts["description"] = operation.description
    if operation.parameters:
        parts["parameters"] = [_parameter(path, one) for one in operation.parameters]
    if operation.request is not None:
        examples = {name: {"value": example(name)} for name in operation.examples}
        body = {"schema": _ref(operation.request), "examples": examples}
        parts["requestBody"] = {"required": True, "content": {"application/json": body}}
    elif operation.request_media_types:
        types = operation.request_media_types
        parts["requestBody"] = {"content": {name: {"schema": {}} for name in types}}
    return {**parts, "responses": responses}


def _raw(media_type: str) -> Schema:
    """Return the schema of an answer that is not JSON; it has no word for lines of JSON."""
    if media_type == "application/pdf":
        return {"type": "string", "contentMediaType": media_type}
    return {"type": "string"} if media_type.startswith("image/") else {}


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
    written = {kind.wire for kind in _subclasses(Quantity) if kind.wire is not None}
    _, schemas = msgspec.json.schema_components(
        [*kinds, *written, Problem], schema_hook=_quantity_schema, ref_template=_REF
    )
    # what the types cannot say: which members go together, and how amounts of money are written
    for form in _subclasses(msgspec.Struct):
        if form.__name__ in schemas:
            schemas[form.__name__].update(getattr(form, "also", {}))
    write_out(schemas, _REF)
    for schema in schemas.values():
        if "description" in schema:
            schema["description"] = cleandoc(schema["description"])
    return dict(sorted(schemas.items()))


def _subclasses(kind: type[T]) -> Iterator[type[T]]:
    for one in kind.__subclasses__():
        yield one
        yield from _subclasses(one)


def _quantity_schema(kind: type) -> Schema:
    if issubclass(kind, Quantity):
        return wire_schema(kind, _REF)
    if not issubclass(kind, (Nm, Exact)):  # pragma: no cover - a bug in a type
        raise NotImplementedError(kind)
    described = f"{kind.description}, from {kind.least} to {kind.most}."
    return {
        "type": "string",
        "format": kind.format,
        "description": described[0].upper() + described[1:],
        "examples": [kind.example],
    }
