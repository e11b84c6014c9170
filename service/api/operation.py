"""What a route says of itself to the published contract."""

from __future__ import annotations

import json
from typing import Any

import msgspec
from litestar import Response

from service.places import shipped

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
    of another media type has no schema. `examples` and `answers` name
    files in the folders of openapi. An answer
    with an `etag` can be cached.
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
    answer_media_type: str = "application/json"
    answer_description: str = "The answer."
    etag: bool = False
    refusals: tuple[int, ...] = COMPUTING


def example(name: str, folder: str = "examples") -> Any:  # noqa: ANN401 - any JSON value
    """Return an example request of the published contract, or one of its `answers`."""
    return json.loads((shipped("openapi") / folder / f"{name}.json").read_bytes())


def json_response(content: msgspec.Struct, headers: dict[str, str]) -> Response[bytes]:
    """Return a struct as a JSON response."""
    encoded = msgspec.json.encode(content)
    return Response(encoded, media_type="application/json", headers=headers)
