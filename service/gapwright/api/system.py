"""Operations: alive, ready, the contract, and the pages that explain it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Literal

import msgspec
from litestar import Litestar, Request, Response, get
from litestar.handlers import HTTPRouteHandler
from litestar.response import Redirect

from gapwright.api.catalog import Catalogs, Readiness
from gapwright.api.docs import docs_page
from gapwright.api.envelope import answer_headers, json_response
from gapwright.api.openapi import Operation, openapi_document
from gapwright.api.pages import page
from gapwright.api.problems import KINDS, ProblemError
from gapwright.pricebooks.file_schema import file_schema as price_schema
from gapwright.rulesets.file_schema import file_schema as rule_schema
from gapwright.version import ENGINE


class Liveness(msgspec.Struct, frozen=True, kw_only=True):
    """The process answers."""

    status: Literal["alive"]
    """Always `alive`."""
    engine: str
    """The version of gapwright."""


_LIVE = Operation(
    id="get_liveness",
    tag="Service",
    summary="Whether the process is alive",
    description="It answers as long as the process runs, and reads no files.",
    answer=Liveness,
    answer_description="The process is alive.",
    refusals=(),
)
_READY = Operation(
    id="get_readiness",
    tag="Service",
    summary="Whether the default rule set can be served",
    description="Files that cannot be used are listed, even if the service is ready.",
    answer=Readiness,
    answer_description="The default rule set can be served.",
    refusals=(503,),
)


def system_routes(catalogs: Catalogs) -> list[HTTPRouteHandler]:
    """Return the routes of operations and documentation."""

    @get("/livez", sync_to_thread=False, opt={"operation": _LIVE})
    def livez() -> Response[bytes]:
        return json_response(Liveness(status="alive", engine=ENGINE), answer_headers())

    @get("/readyz", sync_to_thread=False, opt={"operation": _READY})
    def readyz() -> Response[bytes]:
        return json_response(catalogs.readiness(), answer_headers(catalogs.default_rules()))

    @get("/openapi.json", sync_to_thread=False)
    def openapi(request: Request[Any, Any, Any]) -> Response[bytes]:
        return Response(published_openapi(request.app), media_type="application/json")

    @get("/rulefile.schema.json", sync_to_thread=False)
    def rulefile_schema() -> Response[bytes]:
        return Response(published_schema(), media_type="application/schema+json")

    @get("/pricebook.schema.json", sync_to_thread=False)
    def pricebook_schema() -> Response[bytes]:
        return Response(published_price_schema(), media_type="application/schema+json")

    @get("/docs", sync_to_thread=False)
    def docs(request: Request[Any, Any, Any]) -> Response[str]:
        return docs_page(msgspec.json.decode(published_openapi(request.app)))

    @get("/problems/{name:str}", sync_to_thread=False)
    def problem_kind(name: str) -> Response[str]:
        if name not in KINDS:
            raise ProblemError("not-found", f"Unknown problem type {name[:80]!r}.")
        return page("problem.html", kind=KINDS[name])

    @get("/", sync_to_thread=False)
    def home() -> Redirect:
        return Redirect("/docs")

    return [livez, readyz, openapi, rulefile_schema, pricebook_schema, docs, problem_kind, home]


@lru_cache(maxsize=1)
def published_openapi(app: Litestar) -> bytes:
    """Return the OpenAPI document of the application's routes as it is committed."""
    return _indented(openapi_document(app.routes))


def published_schema() -> bytes:
    """Return the JSON Schema of rule files as it is committed."""
    return _indented(rule_schema())


def published_price_schema() -> bytes:
    """Return the JSON Schema of price books as it is committed."""
    return _indented(price_schema())


def _indented(document: dict[str, Any]) -> bytes:
    return msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n"
