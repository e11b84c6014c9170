"""The price books, to be read: which there are, one of them whole, and what changed."""

from __future__ import annotations

from datetime import date
from typing import Any

import msgspec
from litestar import Request, Response, get
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk
from service.api.problems import ProblemError
from service.api.respond import answer
from service.api.rulesets import VersionAnswer, check_query, lasting, listed_versions
from service.pricebooks.differences import PriceChange, entries, price_changes
from service.pricebooks.pricebook import PriceBook
from service.rulesets.resolve import Origin


class PricebookAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One price book: its versions from the oldest to the newest, and the one in force today."""

    id: str
    in_force: str | None
    versions: tuple[VersionAnswer, ...]


class PricebookList(msgspec.Struct, frozen=True, kw_only=True):
    """All price books that this service knows."""

    pricebooks: tuple[PricebookAnswer, ...]


class WholePricebook(msgspec.Struct, frozen=True, kw_only=True):
    """One version, whole.

    `content` is resolved: what overlays change is laid over what they are based on. `chain` names
    the versions that it was made of, the root first. `origins` tells for each entry, by its dotted
    path, which file and line it was written in, first to last: the last one holds.
    """

    id: str
    version: str
    effective: date | None
    digest: str
    status: str
    title: str
    currency: str
    chain: tuple[str, ...]
    content: dict[str, Any]
    origins: dict[str, tuple[Origin, ...]]


class PriceChangesAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Every entry that differs between two versions of a price book."""

    id: str
    since: str
    version: str
    changes: tuple[PriceChange, ...]


def pricebook_routes(desk: Desk) -> list[HTTPRouteHandler]:
    """Return the routes that show price books."""

    @get("/v1/pricebooks", sync_to_thread=False)
    def listed(request: Request[Any, Any, Any]) -> Response[bytes]:
        check_query(request, ())
        found = tuple(_pricebook(name, desk) for name in sorted(desk.prices.shelf.ledger))
        return answer(PricebookList(pricebooks=found))

    @get("/v1/pricebooks/{identifier:str}", sync_to_thread=False)
    def versions(request: Request[Any, Any, Any], identifier: str) -> Response[bytes]:
        check_query(request, ())
        if identifier not in desk.prices.shelf.ledger:
            shown = identifier[:80]
            raise ProblemError("no-such-pricebook", f"There is no {shown}. See /v1/pricebooks.")
        return answer(_pricebook(identifier, desk))

    @get("/v1/pricebooks/{identifier:str}/{version:str}")
    async def whole(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        check_query(request, ())
        book = await desk.prices.version(identifier, version)
        etag = f'"{book.digest}"'
        if etag in request.headers.get("if-none-match", ""):
            return lasting(b"", etag, 304)
        return lasting(msgspec.json.encode(whole_pricebook(book)), etag)

    @get("/v1/pricebooks/{identifier:str}/{version:str}/changes")
    async def changed(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        since = check_query(request, ("since",))["since"]
        after = await desk.prices.version(identifier, version)
        before = await desk.prices.version(identifier, since)
        etag = f'"{before.digest}-{after.digest}"'
        if etag in request.headers.get("if-none-match", ""):
            return lasting(b"", etag, 304)
        found = PriceChangesAnswer(
            id=after.id,
            since=before.version,
            version=after.version,
            changes=price_changes(before, after),
        )
        return lasting(msgspec.json.encode(found), etag)

    return [listed, versions, whole, changed]


def whole_pricebook(book: PriceBook) -> WholePricebook:
    """Return one version whole, with where each entry was written."""
    return WholePricebook(
        id=book.id,
        version=book.version,
        effective=book.effective,
        digest=book.digest,
        status=book.status,
        title=book.title,
        currency=book.currency,
        chain=book.resolved.chain,
        content=dict(book.content),
        origins={".".join(path): book.resolved.origins(path) for path in entries(book)},
    )


def _pricebook(identifier: str, desk: Desk) -> PricebookAnswer:
    records = tuple(desk.prices.shelf.ledger[identifier].values())
    in_force, versions = listed_versions(records, desk.today())
    return PricebookAnswer(id=identifier, in_force=in_force, versions=versions)
