"""Operations: alive, ready, the contract, and the pages that explain it."""

from __future__ import annotations

from functools import lru_cache

import msgspec
from litestar import Response, get
from litestar.handlers import HTTPRouteHandler
from litestar.response import Redirect

from service.api.desk import Desk
from service.api.health import Liveness
from service.api.pages import docs_page, page
from service.api.problems import KINDS, ProblemError
from service.api.respond import answer
from service.version import ENGINE


def system_routes(desk: Desk) -> list[HTTPRouteHandler]:
    """Return the routes of operations and documentation."""

    @get("/livez", sync_to_thread=False)
    def livez() -> Response[bytes]:
        return answer(Liveness(status="alive", engine=ENGINE))

    @get("/readyz", sync_to_thread=False)
    def readyz() -> Response[bytes]:
        imprint = desk.default_imprint()
        return answer(desk.readiness(), imprint.headers if imprint else ())

    @get("/openapi.json", sync_to_thread=False)
    def openapi() -> Response[bytes]:
        return Response(published_contract(), media_type="application/json")

    @get("/rulefile.schema.json", sync_to_thread=False)
    def schema() -> Response[bytes]:
        return Response(published_schema(), media_type="application/schema+json")

    @get("/pricebook.schema.json", sync_to_thread=False)
    def price_schema() -> Response[bytes]:
        return Response(published_price_schema(), media_type="application/schema+json")

    @get("/docs", sync_to_thread=False)
    def docs() -> Response[str]:
        return docs_page(msgspec.json.decode(published_contract()), KINDS)

    @get("/problems/{name:str}", sync_to_thread=False)
    def explain(name: str) -> Response[str]:
        if name not in KINDS:
            raise ProblemError("not-found", f"There is no kind of problem named {name[:80]!r}.")
        return page("problem.html", kind=KINDS[name])

    @get("/", sync_to_thread=False)
    def home() -> Redirect:
        return Redirect("/docs")

    return [livez, readyz, openapi, schema, price_schema, docs, explain, home]


@lru_cache(maxsize=1)
def published_schema() -> bytes:
    """Return the JSON Schema of rule files as it is committed: indented JSON."""
    from service.rulesets.file_schema import file_schema

    return msgspec.json.format(msgspec.json.encode(file_schema()), indent=2) + b"\n"


@lru_cache(maxsize=1)
def published_price_schema() -> bytes:
    """Return the JSON Schema of price books as it is committed: indented JSON."""
    from service.pricebooks.file_schema import file_schema

    return msgspec.json.format(msgspec.json.encode(file_schema()), indent=2) + b"\n"


@lru_cache(maxsize=1)
def published_contract() -> bytes:
    """Return the OpenAPI document as it is committed: indented JSON."""
    from service.api.contract import contract

    return msgspec.json.format(msgspec.json.encode(contract()), indent=2) + b"\n"
