"""HTML pages, rendered on the server from templates; they load nothing from anywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from litestar import Response
from markupsafe import Markup, escape

from gapwright.version import ENGINE

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


def _code_marks(text: str) -> Markup:
    """Return text in which words between backticks are set as code."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def pretty_json(value: object) -> str:
    """Return JSON with indents."""
    return json.dumps(value, indent=2, ensure_ascii=False)


def _rules_address(name: str) -> str:
    """Return the address of the page of the rule set `id@version`."""
    return f"/rules/{name.replace('@', '/')}"


environment.filters.update(
    address=_rules_address,
    code_marks=_code_marks,
    pretty=pretty_json,
)
