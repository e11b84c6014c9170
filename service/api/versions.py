"""Rule sets and price books, to be read: which there are, one of them whole, and what changed."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, Generic

import msgspec
from litestar import Request, Response, get
from litestar.handlers import HTTPRouteHandler

from service.api.catalog import Catalog, Catalogs
from service.api.envelope import answer_headers
from service.api.operation import READING, Operation, Parameter
from service.api.problems import bad_query
from service.errors import Fault
from service.pricebooks.differences import PriceChange, price_changes
from service.pricebooks.differences import entries as price_entries
from service.pricebooks.pricebook import PriceBook
from service.publishing.changes import Change, changes
from service.rulesets.kind import V
from service.rulesets.overlay import SECTIONS
from service.rulesets.resolve import Origin
from service.rulesets.ruleset import RuleSet


class VersionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One published version."""

    version: str
    effective: date
    digest: str
    withdrawn: date | None


class VersionsAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The versions of one id from the oldest to the newest, and the one in force today."""

    id: str
    in_force: str | None
    versions: tuple[VersionAnswer, ...]


class RulesetList(msgspec.Struct, frozen=True, kw_only=True):
    """All rule sets that this service knows."""

    rulesets: tuple[VersionsAnswer, ...]


class PricebookList(msgspec.Struct, frozen=True, kw_only=True):
    """All price books that this service knows."""

    pricebooks: tuple[VersionsAnswer, ...]


class WholeVersion(msgspec.Struct, frozen=True, kw_only=True):
    """One version, whole.

    The ledger says its `status`: a version that was withdrawn keeps its content and its digest.
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
    chain: tuple[str, ...]
    content: dict[str, Any]
    origins: dict[str, tuple[Origin, ...]]


class WholeRuleset(WholeVersion, frozen=True, kw_only=True):
    """One version of a rule set, whole."""

    effective: date


class WholePricebook(WholeVersion, frozen=True, kw_only=True):
    """One version of a price book, whole."""

    currency: str


class ChangesAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Every entry that differs between two versions, grouped by what it affects.

    The ledger says the status of both.
    """

    id: str
    since: str
    since_status: str
    version: str
    status: str
    changes: dict[str, tuple[Change, ...]]


class PriceChangesAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Every entry that differs between two versions of a price book."""

    id: str
    since: str
    version: str
    changes: tuple[PriceChange, ...]


class Publication(msgspec.Struct, Generic[V], frozen=True, kw_only=True):
    """A kind of published version: its words, where its entries are, and how two differ.

    `changes` takes two versions, the older one first, and their statuses.
    """

    noun: str
    example: str
    list_type: Callable[..., msgspec.Struct]
    whole_type: type[WholeVersion]
    changes_type: type[msgspec.Struct]
    entries: Callable[[V], Iterable[tuple[str, ...]]]
    changes: Callable[[V, V, tuple[str, str]], msgspec.Struct]


def rule_entries(rules: RuleSet) -> list[tuple[str, ...]]:
    """Return the path of every entry of a rule set."""
    content = rules.content
    paths = [(section, name) for section in SECTIONS for name in content.get(section, {})]
    rows = [
        ("tables", table, "rows", row)
        for table, entry in content["tables"].items()
        for row in entry["rows"]
    ]
    return [*paths, *rows]


def ruleset_changes(before: RuleSet, after: RuleSet, statuses: tuple[str, str]) -> ChangesAnswer:
    """Return what differs between two versions, grouped by what it affects."""
    grouped: dict[str, tuple[Change, ...]] = {}
    for change in changes(before, after):
        grouped[change.affects] = (*grouped.get(change.affects, ()), change)
    return ChangesAnswer(
        id=after.id,
        since=before.version,
        since_status=statuses[0],
        version=after.version,
        status=statuses[1],
        changes=grouped,
    )


def pricebook_changes(
    before: PriceBook, after: PriceBook, _: tuple[str, str]
) -> PriceChangesAnswer:
    """Return what differs between two versions."""
    found = price_changes(before, after)
    return PriceChangesAnswer(
        id=after.id, since=before.version, version=after.version, changes=found
    )


RULESETS: Publication[RuleSet] = Publication(
    noun="ruleset",
    example="baseline",
    list_type=RulesetList,
    whole_type=WholeRuleset,
    changes_type=ChangesAnswer,
    entries=rule_entries,
    changes=ruleset_changes,
)
PRICEBOOKS: Publication[PriceBook] = Publication(
    noun="pricebook",
    example="demo",
    list_type=PricebookList,
    whole_type=WholePricebook,
    changes_type=PriceChangesAnswer,
    entries=price_entries,
    changes=pricebook_changes,
)


def version_routes(catalogs: Catalogs) -> list[HTTPRouteHandler]:
    """Return the routes that show rule sets and price books."""
    return [
        *_routes(RULESETS, catalogs.rules, catalogs.today),
        *_routes(PRICEBOOKS, catalogs.prices, catalogs.today),
    ]


def _routes(
    kind: Publication[V], catalog: Catalog[V], today: Callable[[], date]
) -> list[HTTPRouteHandler]:
    path = f"/v1/{kind.noun}s"
    operations = _operations(kind)

    @get(path, sync_to_thread=False, opt={"operation": operations["list"]})
    def list_all(request: Request[Any, Any, Any]) -> Response[bytes]:
        query_parameters(request)
        found = tuple(show(identifier) for identifier in sorted(catalog.shelf.ledger))
        return _json(kind.list_type(**{f"{kind.noun}s": found}), answer_headers())

    @get(f"{path}/{{identifier:str}}", sync_to_thread=False, opt={"operation": operations["one"]})
    def list_versions(request: Request[Any, Any, Any], identifier: str) -> Response[bytes]:
        query_parameters(request)
        return _json(show(identifier), answer_headers())

    @get(f"{path}/{{identifier:str}}/{{version:str}}", opt={"operation": operations["version"]})
    async def whole(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        query_parameters(request)
        found = await catalog.version(identifier, version)
        status = catalog.shelf.status(found)
        etag = _entity_tag((found, status))
        return await _cacheable(request, etag, lambda: _whole(kind, found, status))

    @get(
        f"{path}/{{identifier:str}}/{{version:str}}/changes",
        opt={"operation": operations["changes"]},
    )
    async def changed(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        since = query_parameters(request, required=("since",))["since"]
        after = await catalog.version(identifier, version)
        before = await catalog.version(identifier, since)
        statuses = (catalog.shelf.status(before), catalog.shelf.status(after))
        etag = _entity_tag((before, statuses[0]), (after, statuses[1]))
        return await _cacheable(request, etag, lambda: kind.changes(before, after, statuses))

    def show(identifier: str) -> VersionsAnswer:
        records = catalog.records(identifier)
        standing = [r for r in records if r.withdrawn is None and r.effective <= today()]
        versions = tuple(
            VersionAnswer(
                version=record.version,
                effective=record.effective,
                digest=record.digest,
                withdrawn=record.withdrawn,
            )
            for record in records
        )
        in_force = standing[-1].version if standing else None
        return VersionsAnswer(id=identifier, in_force=in_force, versions=versions)

    return [list_all, list_versions, whole, changed]


def _whole(kind: Publication[Any], found: Any, status: str) -> WholeVersion:  # noqa: ANN401
    """Return a rule set or price book whole, with where each entry was written."""
    derived = {
        "status": status,
        "chain": found.resolved.chain,
        "content": {**found.content, "status": status},
        "origins": {".".join(path): found.resolved.origins(path) for path in kind.entries(found)},
    }
    names = [name for name in kind.whole_type.__struct_fields__ if name not in derived]
    return kind.whole_type(**{name: getattr(found, name) for name in names}, **derived)


def _operations(kind: Publication[Any]) -> dict[str, Operation]:
    noun = kind.noun
    identifier = Parameter("identifier", kind.example, f"The id of a {noun}.")
    version = Parameter("version", "1.1.0", "One of its published versions.")
    since = Parameter("since", "1.0.0", "The version to compare with.")
    return {
        "list": Operation(
            id=f"{noun}s",
            summary=f"All {noun}s and their versions",
            answer=kind.list_type,
            refusals=READING,
        ),
        "one": Operation(
            id=noun,
            summary="Its versions",
            parameters=(identifier,),
            answer=VersionsAnswer,
            refusals=READING,
        ),
        "version": Operation(
            id=f"{noun}_version",
            summary="One version, whole, with sources",
            parameters=(identifier, version),
            answer=kind.whole_type,
            lasting=True,
            refusals=READING,
        ),
        "changes": Operation(
            id=f"{noun}_changes",
            summary="What changed since another",
            parameters=(identifier, version, since),
            answer=kind.changes_type,
            lasting=True,
            refusals=READING,
        ),
    }


def query_parameters(
    request: Request[Any, Any, Any],
    required: tuple[str, ...] = (),
    optional: tuple[str, ...] = (),
) -> dict[str, str]:
    """Return the query's parameters. Raises ProblemError for unknown and for missing ones."""
    given = dict(request.query_params)
    unknown, missing = "There is no such query parameter.", "This query parameter is missing."
    faults = [
        Fault(path=(name,), problem=unknown, remedy="Leave it out.")
        for name in given
        if name not in (*required, *optional)
    ]
    faults += [
        Fault(path=(name,), problem=missing, remedy="Give a version.")
        for name in required
        if name not in given
    ]
    if faults:
        raise bad_query(*faults)
    return given


def _entity_tag(*versions: tuple[Any, str]) -> str:
    """Return a tag that changes with the content and the status of the versions."""
    marks = (
        version.digest if status == "published" else f"{version.digest}-{status}"
        for version, status in versions
    )
    return f'"{"-".join(marks)}"'


async def _cacheable(
    request: Request[Any, Any, Any], etag: str, make: Callable[[], msgspec.Struct]
) -> Response[bytes]:
    """Return an answer that never changes, or 304 to a caller that has it."""
    headers = {"etag": etag, "cache-control": "public, max-age=31536000, immutable"}
    if etag in request.headers.get("if-none-match", ""):
        return Response(b"", status_code=304, media_type="application/json", headers=headers)
    return _json(await asyncio.to_thread(make), headers)


def _json(content: msgspec.Struct, headers: dict[str, str]) -> Response[bytes]:
    encoded = msgspec.json.encode(content)
    return Response(encoded, media_type="application/json", headers=headers)
