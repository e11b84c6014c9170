"""HTML pages, rendered on the server from templates; they load nothing from anywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from litestar import Response
from markupsafe import Markup, escape

from gapwright.api.problems import KINDS
from gapwright.version import ENGINE

Schema = dict[str, Any]

_HEADERS = {
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; "
    "form-action 'self'",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}
environment = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def page(name: str, status: int = 200, **context: Any) -> Response[str]:  # noqa: ANN401
    """Return a page made from a template."""
    html = environment.get_template(name).render(engine=ENGINE, **context)
    return Response(html, status_code=status, media_type="text/html", headers=dict(_HEADERS))


def docs_page(openapi: Schema) -> Response[str]:
    """Return the page that explains an OpenAPI document."""
    schemas = openapi["components"]["schemas"]

    def resolve(schema: Schema) -> Any:  # noqa: ANN401
        return schemas[_ref_name(schema)] if "$ref" in schema else schema

    def description(schema: Schema) -> str:
        """Return the description of a member: its own, or that of what it refers to."""
        if "description" in schema:
            return str(schema["description"])
        referred = [*schema.get("anyOf", ()), schema.get("items") or {}, schema]
        found = [resolve(member).get("description", "") for member in referred]
        return next((text.split("\n\n")[0] for text in found if text), "")

    return page("docs.html", contract=openapi, kinds=KINDS, resolve=resolve, describe=description)


def _ref_name(schema: Schema) -> str:
    return str(schema["$ref"].rsplit("/", 1)[1])


def _type_name(schema: Schema) -> str:
    """Return in a few words what a member is."""
    if "$ref" in schema:
        return _ref_name(schema)
    if "enum" in schema:
        return ", ".join("null" if option is None else str(option) for option in schema["enum"])
    if "anyOf" in schema:
        return " or ".join(_type_name(member) for member in schema["anyOf"])
    if schema.get("type") == "array":
        return f"list of {_type_name(schema['items'])}" if schema.get("items") else "list"
    return str(schema.get("format") or schema.get("type") or "any value")


def _code_marks(text: str) -> Markup:
    """Return text in which words between backticks are set as code."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def _pretty_json(value: object) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False)


def _rules_address(name: str) -> str:
    """Return the address of the page of the rule set `id@version`."""
    return f"/rules/{name.replace('@', '/')}"


environment.filters.update(
    address=_rules_address, type_name=_type_name, code_marks=_code_marks, pretty=_pretty_json
)
