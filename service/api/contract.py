"""The published contract: an OpenAPI 3.1 document made from the calls and their wire forms.

It is made here rather than by the framework, so that it says all that the wire forms say: refused
unknown members, bounds inside optional members, descriptions, and requests that really work.
"""

from __future__ import annotations

import json
from typing import Any

import msgspec

from service.api.desk import Readiness
from service.api.envelope import CautionAnswer, Receipt, RulesetHead, TraceStep
from service.api.problems import KINDS, MEDIA_TYPE, Problem
from service.api.system import Liveness
from service.calls.computing import CALLS, Call
from service.places import shipped
from service.quantity.kinds import Nm
from service.version import ENGINE

Schema = dict[str, Any]
_REF = "#/components/schemas/{name}"
_REFUSALS = (400, 404, 409, 413, 415, 422, 500, 503)
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
        "paths": {call.path: {"post": _operation(call)} for call in CALLS} | _system_paths(),
        "components": {
            "schemas": _schemas(),
            "headers": _headers(),
            "responses": {str(status): _refusal(status) for status in _REFUSALS},
        },
    }


def example(name: str) -> Any:  # noqa: ANN401 - any JSON value
    """Return an example request of the published contract."""
    return json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())


def _operation(call: Call) -> Schema:
    name = call.path.removeprefix("/v1/").replace("/", "_")
    return {
        "operationId": name,
        "summary": call.summary,
        "description": call.form.__doc__,
        "requestBody": {
            "required": True,
            "content": {
                "application/json": {
                    "schema": _ref(call.form),
                    "examples": {name: {"value": example(name)} for name in call.examples},
                }
            },
        },
        "responses": {
            "200": {
                "description": "The answer.",
                "headers": _header_refs(),
                "content": {"application/json": {"schema": _envelope(call)}},
            },
            **{str(s): {"$ref": f"#/components/responses/{s}"} for s in _REFUSALS},
        },
    }


def _envelope(call: Call) -> Schema:
    members: Schema = {
        "ruleset": _ref(RulesetHead),
        "engine": {"type": "string", "description": "The version of the service's engine."},
        "result": _ref(call.answer),
        "cautions": {"type": "array", "items": _ref(CautionAnswer)},
        "trace": {"type": "array", "items": _ref(TraceStep)},
        "receipt": _ref(Receipt),
    }
    return {
        "type": "object",
        "properties": members,
        "required": list(members),
        "additionalProperties": False,
    }


def _system_paths() -> Schema:
    alive = {"200": _json_response("The process is alive.", _ref(Liveness))}
    ready = {
        "200": _json_response("The default rule set can be served.", _ref(Readiness)),
        "503": {"$ref": "#/components/responses/503"},
    }
    return {
        "/livez": {"get": {"operationId": "livez", "summary": "Alive", "responses": alive}},
        "/readyz": {"get": {"operationId": "readyz", "summary": "Ready", "responses": ready}},
    }


def _json_response(description: str, schema: Schema) -> Schema:
    return {"description": description, "content": {"application/json": {"schema": schema}}}


def _schemas() -> Schema:
    kinds = [kind for call in CALLS for kind in (call.form, call.answer)]
    common = [RulesetHead, CautionAnswer, TraceStep, Receipt, Problem, Liveness, Readiness]
    _, schemas = msgspec.json.schema_components(
        [*kinds, *common], schema_hook=_quantity_schema, ref_template=_REF
    )
    for call in CALLS:
        schemas[call.form.__name__].update(call.form.also)
    return dict(sorted(schemas.items()))


def _quantity_schema(kind: type) -> Schema:
    if not issubclass(kind, Nm):  # pragma: no cover - a wire form with a type of ours is a bug
        raise NotImplementedError(kind)
    described = f"{kind.means}, from {kind.least} to {kind.most}."
    return {
        "type": "string",
        "format": kind.format,
        "description": described[0].upper() + described[1:],
        "examples": [kind.example],
    }


def _refusal(status: int) -> Schema:
    titles = sorted(kind.title for kind in KINDS.values() if kind.status == status)
    return {
        "description": ". ".join(titles) + ".",
        "headers": _header_refs(),
        "content": {MEDIA_TYPE: {"schema": _ref(Problem)}},
    }


def _headers() -> Schema:
    told = {
        "X-Request-ID": "The id of the request: the caller's own, or one that was made.",
        "Gapwright-Ruleset": "The rule set that was followed, as id@version.",
        "Gapwright-Ruleset-Digest": "The digest of that rule set's content.",
    }
    return {n: {"description": d, "schema": {"type": "string"}} for n, d in told.items()}


def _header_refs() -> Schema:
    return {name: {"$ref": f"#/components/headers/{name}"} for name in _headers()}


def _ref(kind: type) -> Schema:
    return {"$ref": _REF.format(name=kind.__name__)}
