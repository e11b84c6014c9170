"""The published contract: an OpenAPI 3.1 document made from the routes and their structs.

Each route carries its `Operation`; paths, methods, parameters and schemas follow from the routes
and from the structs that they read and write. It is made here rather than by the framework, whose
document leaves out refused unknown members and bounds inside optional members.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from inspect import cleandoc
from typing import Any, Literal, TypeVar, get_args, get_origin

import msgspec
from litestar.routes import BaseRoute, HTTPRoute
from msgspec import inspect

from gapwright.api.envelope import BYTES
from gapwright.api.problems import KINDS, MEDIA_TYPE, Problem
from gapwright.calc.outline import Facing
from gapwright.calc.suitability import Verdict
from gapwright.calls.array import Orientation
from gapwright.docstrings import describe_members
from gapwright.facts import Covering, Joining, Painted, Racking
from gapwright.places import shipped
from gapwright.pricebooks.file_schema import write_out
from gapwright.quantity.kinds import Exact, Nm
from gapwright.quantity.output import Quantity, wire_schema
from gapwright.quantity.parse import PATTERN
from gapwright.quantity.show import ItemUnit, LengthUnit, Safe, System
from gapwright.version import ENGINE

T = TypeVar("T")
Schema = dict[str, Any]

COMPUTING = (400, 404, 409, 413, 415, 422, 500, 503)
"""Refusals of a computing call."""
READING = (404, 422, 500, 503)
"""Refusals of a call that shows rule sets or price books."""


Tag = Literal["Jobs", "Rule sets", "Price books", "Service"]


class Parameter(msgspec.Struct, frozen=True):
    """A parameter of the path, or else of the query, that names an id or a version."""

    name: str
    example: str
    description: str


class Operation(msgspec.Struct, frozen=True, kw_only=True):
    """One operation; a route carries it as `opt={"operation": Operation(...)}`.

    `request` is the type of a JSON body and `answer` that of a JSON answer. Other bodies are
    described in words. `examples` and `answers` name files in the folders of openapi. An answer
    with an `etag` can be cached.
    """

    id: str
    tag: Tag
    summary: str
    description: str
    request: Any = None
    request_description: str = ""
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
_TAGS: dict[Tag, str] = {
    "Jobs": "Suitability, sizing, materials, layout, and quotes.",
    "Rule sets": "Published rule sets, and a check for drafts.",
    "Price books": "Published price books.",
    "Service": "Whether the service is up and ready.",
}
_ENUMS: dict[str, tuple[Any, str]] = {
    "Facing": (Facing, "Where a side of an array faces, as seen from the eave."),
    "Finish": (Painted, "How parts are finished."),
    "ItemUnit": (ItemUnit, "The unit of an item's quantity."),
    "Joining": (Joining, "What fastens the overlaps."),
    "LengthUnit": (LengthUnit, "The unit of a length."),
    "Orientation": (Orientation, "`portrait`: the long side of a module runs up the slope."),
    "Racking": (Racking, "The kind of racking."),
    "RoofCovering": (Covering, "The kind of roof covering."),
    "Rounding": (Safe, "The direction in which the text is rounded."),
    "Units": (System, "Imperial or metric units."),
    "Verdict": (Verdict, "Whether a barrier can be installed."),
}
"""Choices that more than one member has: the name of the schema, the type, the description."""
_DESCRIPTION = """\
Estimates for a wire-mesh barrier around the edge of a rooftop solar array: whether one can be \
installed, how wide the strip is and how it is bent, what to order, how long the work takes, what \
it costs, and which cautions apply, under the version of the rules that you choose.

A quantity in a request is text with a unit, as a tape measure reads: `4 1/2 in`, `6' 4 1/2"`, \
`114.3 mm`, `90 ft`. A quantity in an answer is a number with its unit, and text; `rounded` is \
present only if the text does not show the length exactly. Every answer names its rule set with a \
digest and lists the cautions that apply. Local codes and licensed practice come first.

In a request, null means the same as omitting a member. In an answer, an optional member may be \
omitted but is never null; a member that may be null is always present.

A request to any call under Jobs may include `"explain": true`. The answer then has an \
`explanation`, which lists each rule once and, for each figure (by its JSON Pointer into \
`result`), the rules that it was computed from. /v1/sizing has an example.
"""
_HEADERS = {
    "X-Request-ID": "The ID of the request: the caller's own, or one that the service generated.",
    "Gapwright-Ruleset": "The rule set that the answer follows, as id@version.",
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
        "info": {
            "title": "gapwright",
            "version": ENGINE,
            "description": _DESCRIPTION,
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/", "description": "The service that serves this document."}],
        "security": [],
        "tags": [{"name": name, "description": text} for name, text in _TAGS.items()],
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
    content = {name: {"schema": _answer(operation, name)} for name in operation.answer_media_types}
    if not operation.answer:
        content[BYTES] = {"schema": _BINARY}
    if operation.answers:
        content["application/json"]["examples"] = {
            name: {"value": example(name, "answers")} for name in operation.answers
        }
    success: Schema = {
        "description": operation.answer_description,
        "headers": dict(_HEADER_REFS),
        "content": content,
    }
    responses: dict[str, Schema] = {"200": success}
    if operation.etag:
        etag = {"description": "The entity tag of the content.", "schema": {"type": "string"}}
        success["headers"]["ETag"] = etag
        responses["304"] = {"description": "Not modified."}
    for status in operation.refusals:
        responses[str(status)] = {"$ref": f"#/components/responses/{status}"}
    parts: Schema = {
        "operationId": operation.id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": operation.description,
    }
    if operation.parameters:
        parts["parameters"] = [_parameter(path, one) for one in operation.parameters]
    if operation.request is not None:
        examples = {name: {"value": example(name)} for name in operation.examples}
        body = {"schema": _ref(operation.request), "examples": examples}
        parts["requestBody"] = {"required": True, "content": {"application/json": body}}
    elif operation.request_description:
        parts["requestBody"] = {
            "required": True,
            "description": operation.request_description,
            "content": {BYTES: {"schema": _BINARY}},
        }
    return {**parts, "responses": responses}


_BINARY = {"type": "string", "format": "binary"}


def _answer(operation: Operation, media_type: str) -> Schema:
    """Return the schema of a successful answer in one of its media types."""
    if operation.answer:
        return _ref(operation.answer)
    return _BINARY if media_type == "application/pdf" else {"type": "string"}


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
    return _plain(schema)


def _schemas(operations: Sequence[Operation]) -> dict[str, Schema]:
    """Return the schema of every struct that is read or written, of quantities, and of choices."""
    requests = _structs([one.request for one in operations if one.request])
    answers = _structs([*(one.answer for one in operations if one.answer), Problem])
    structs = requests | answers
    _, found = msgspec.json.schema_components(
        structs.values(), schema_hook=_quantity_schema, ref_template=_REF
    )
    write_out(found, _REF)
    schemas = {_schema_name(name): _plain(schema) for name, schema in found.items()}
    for name, generic in structs.items():
        kind = get_origin(generic) or generic
        schema = schemas[_schema_name(name)]
        schema["title"] = _schema_name(name)
        schema["description"] = cleandoc(schema["description"])
        describe_members(schema, kind)
        if name in requests:
            _state_defaults(schema, kind)
        else:
            schema["required"] = _always_present(kind)
    schemas |= {kind.__name__: _quantity(kind) for kind in _subclasses(Nm)}
    schemas |= {kind.__name__: _quantity(kind) for kind in _subclasses(Exact)}
    for name, (choice, description) in _ENUMS.items():
        options = {"type": "string", "enum": sorted(get_args(choice))}
        schemas[name] = {"title": name, "description": description, **options}
    return dict(sorted(schemas.items()))


def _structs(kinds: Sequence[Any]) -> dict[str, Any]:
    """Return the structs that some types are made of, by the name that msgspec gives them."""
    found: dict[str, Any] = {}
    waiting = list(inspect.multi_type_info(kinds))
    while waiting:
        info = waiting.pop()
        if isinstance(info, inspect.StructType):
            name = "_".join(kind.__name__ for kind in (info.cls, *get_args(info.cls)))
            name += "_" if get_args(info.cls) else ""
            if name not in found:
                found[name] = info.cls
                waiting += [field.type for field in info.fields]
        elif isinstance(info, inspect.CustomType):
            if issubclass(info.cls, Quantity):
                waiting.append(inspect.type_info(info.cls.wire))
        else:
            parts = ("type", "item_type", "key_type", "value_type")
            waiting += [getattr(info, part) for part in parts if hasattr(info, part)]
            waiting += [*getattr(info, "types", ()), *getattr(info, "item_types", ())]
    return found


def _state_defaults(schema: Schema, kind: type[msgspec.Struct]) -> None:
    """Add to the description of each member of a request what is taken if it is left out."""
    for field in msgspec.structs.fields(kind):
        if isinstance(field.default, str | int) and field.default != "":
            default = json.dumps(field.default)
            schema["properties"][field.encode_name]["description"] += f" Default: {default}."


def _always_present(kind: type[msgspec.Struct]) -> list[str]:
    """Return the names of the members that an answer always has."""
    left_out = kind.__struct_config__.omit_defaults
    return [
        field.encode_name
        for field in msgspec.structs.fields(kind)
        if field.required or not (left_out or field.default is msgspec.UNSET)
    ]


def _schema_name(name: str) -> str:
    """Return the name of a schema: `SizingEnvelope` for `Envelope_SizingResult_`."""
    return re.sub(r"^Envelope_(\w+?)(?:Result|Answer)?_$", r"\1Envelope", name)


def _plain(schema: Schema) -> Schema:
    """Return a schema in the part of JSON Schema that client generators understand.

    Defaults are stated in the description: some generators require members that have one.
    """
    schema = dict(schema)
    for part in ("items", "additionalProperties", "propertyNames"):
        if isinstance(schema.get(part), dict):
            schema[part] = _plain(schema[part])
    if "properties" in schema:
        schema["properties"] = {name: _plain(one) for name, one in schema["properties"].items()}
    elif schema.get("type") == "object":
        schema.setdefault("additionalProperties", True)
    if "anyOf" in schema:
        schema["anyOf"] = [_plain(one) for one in schema["anyOf"]]
    if "$ref" in schema:
        folder, name = schema["$ref"].rsplit("/", 1)
        schema["$ref"] = f"{folder}/{_schema_name(name)}"
    if schema.get("items") is False:
        schema["items"] = _plain(schema.pop("prefixItems")[0])
    schema.pop("default", None)
    return _choice(schema)


def _choice(schema: Schema) -> Schema:
    """Return a schema with its type if it is a choice of words, or a reference to a shared one."""
    if all("enum" in option for option in schema.get("anyOf", [{}])):
        schema["enum"] = sorted(word for option in schema.pop("anyOf") for word in option["enum"])
    if "enum" not in schema:
        return schema
    for name, (choice, _) in _ENUMS.items():
        if schema["enum"] == sorted(get_args(choice)):
            return {"$ref": _REF.format(name=name)}
    return {"type": "string", **schema}


def _subclasses(kind: type[T]) -> Iterator[type[T]]:
    for one in kind.__subclasses__():
        yield one
        yield from _subclasses(one)


def _quantity_schema(kind: type) -> Schema:
    """Return the schema of a quantity in a member: msgspec's hook for types it does not know."""
    if issubclass(kind, Quantity):
        return wire_schema(kind, _REF)
    return {"$ref": _REF.format(name=kind.__name__)}


def _quantity(kind: type[Nm | Exact]) -> Schema:
    """Return the schema of a kind of quantity in requests."""
    described = f"{kind.description}, from {kind.least} to {kind.most}, as text with its unit."
    sign = "[-−]?\\s*" if kind.least.startswith("-") else ""
    return {
        "title": kind.__name__,
        "type": "string",
        "format": kind.format,
        "pattern": rf"^\s*{sign}{PATTERN}\s*$",
        "description": described[0].upper() + described[1:],
        "examples": [kind.example],
    }
