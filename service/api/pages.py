"""HTML pages, rendered on the server from templates; they load nothing from anywhere."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from litestar import Response

from service.version import ENGINE

if TYPE_CHECKING:
    from jinja2 import Environment

_HEADERS = {
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}


def page(name: str, **context: Any) -> Response[str]:  # noqa: ANN401 - templates take anything
    """Return a page made from a template."""
    html = _environment().get_template(name).render(engine=ENGINE, **context)
    return Response(html, media_type="text/html", headers=_HEADERS)


def docs_page(contract: dict[str, Any], kinds: dict[str, Any]) -> Response[str]:
    """Return the page that explains a contract, an OpenAPI document."""
    schemas = contract["components"]["schemas"]
    filters = _environment().filters
    filters["resolved"] = lambda schema: _resolved(schema, schemas)
    filters["told"] = lambda schema: _told(schema, schemas)
    return page("docs.html", contract=contract, kinds=kinds)


@lru_cache(maxsize=1)
def _environment() -> Environment:
    """Return the templates' environment; the library is read in when a page is first asked for."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(holds=_holds, ticked=_ticked, pretty=_pretty)
    return environment


def _resolved(schema: dict[str, Any], schemas: dict[str, Any]) -> Any:  # noqa: ANN401
    return schemas[schema["$ref"].rsplit("/", 1)[1]] if "$ref" in schema else schema


def _holds(schema: dict[str, Any]) -> str:
    """Return in a few words what a member holds."""
    if "$ref" in schema:
        return str(schema["$ref"].rsplit("/", 1)[1])
    if "enum" in schema:
        return ", ".join("null" if option is None else str(option) for option in schema["enum"])
    if "anyOf" in schema:
        return " or ".join(_holds(member) for member in schema["anyOf"])
    if schema.get("type") == "array":
        return f"list of {_holds(schema['items'])}" if schema.get("items") else "list"
    return str(schema.get("format") or schema.get("type") or "any value")


def _told(schema: dict[str, Any], schemas: dict[str, Any]) -> str:
    """Return what a member means: its own description, or that of what it refers to."""
    if "description" in schema:
        return str(schema["description"])
    referred = [*schema.get("anyOf", ()), schema.get("items") or {}, schema]
    told = [_resolved(member, schemas).get("description", "") for member in referred]
    return next((text.split("\n\n")[0] for text in told if text), "")


def _ticked(text: str) -> Any:  # noqa: ANN401 - jinja's markup
    """Return text in which words between backticks are set as code."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def _pretty(value: object) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False)
