"""What a route says of itself to the published contract."""

from __future__ import annotations

import json
from typing import Any

import msgspec

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
    of another media type has no schema. A `lasting` answer can be cached.
    """

    id: str
    summary: str
    description: str = ""
    request: Any = None
    request_media_types: tuple[str, ...] = ()
    examples: tuple[str, ...] = ()
    """Names of the example requests in openapi/examples."""
    parameters: tuple[Parameter, ...] = ()
    answer: Any = None
    answer_media_type: str = "application/json"
    answer_description: str = "The answer."
    lasting: bool = False
    refusals: tuple[int, ...] = COMPUTING


def example(name: str) -> Any:  # noqa: ANN401 - any JSON value
    """Return an example request of the published contract."""
    return json.loads((shipped("openapi") / "examples" / f"{name}.json").read_bytes())
