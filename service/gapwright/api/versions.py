"""Rule sets and price books, to be read: which there are, one of them whole, and what changed."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Callable
from datetime import date
from typing import Any

import msgspec
from litestar import Request, Response, get
from litestar.handlers import HTTPRouteHandler

from gapwright.api.catalog import Catalog, Catalogs
from gapwright.api.envelope import answer_headers, json_response
from gapwright.api.openapi import READING, Operation, Parameter
from gapwright.api.problems import bad_query
from gapwright.errors import Fault
from gapwright.pricebooks.pricebook import PriceBook
from gapwright.publishing.changes import Change, PriceChange, changes, price_changes
from gapwright.rulesets.resolve import Origin
from gapwright.rulesets.ruleset import RuleSet

AnyRequest = Request[Any, Any, Any]


class VersionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One published version."""

    version: str
    """The version."""
    effective: date
    """The first day on which it is in effect."""
    digest: str
    """The digest of its content."""
    withdrawn: date | None
    """The day on which it was withdrawn, or null."""


class VersionsAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The versions of one id from the oldest to the newest, and the one in effect today."""

    id: str
    """The id."""
    in_force: str | None
    """The version in effect today, or null."""
    versions: tuple[VersionAnswer, ...]
    """All published versions, the oldest first."""


class RulesetList(msgspec.Struct, frozen=True, kw_only=True):
    """All rule sets that this service knows."""

    rulesets: tuple[VersionsAnswer, ...]
    """Each rule set with its versions."""


class PricebookList(msgspec.Struct, frozen=True, kw_only=True):
    """All price books that this service knows."""

    pricebooks: tuple[VersionsAnswer, ...]
    """Each price book with its versions."""


class WholeVersion(msgspec.Struct, frozen=True, kw_only=True):
    """One version, whole.

    `status` is from the ledger; a withdrawn version keeps its content and its digest. `content` is
    resolved: overlays are applied to the versions that they are based on. `chain` names those
    versions, the root first. `origins` gives the files and lines that wrote each entry, by its
    dotted path, first to last: the last one is in effect.
    """

    id: str
    """The id."""
    version: str
    """The version."""
    effective: date | None
    """The first day on which it is in effect, or null."""
    digest: str
    """The digest of its content."""
    status: str
    """The status by the ledger: `published` or `withdrawn`."""
    title: str
    """The title."""
    chain: tuple[str, ...]
    """The versions that it was made from, the root first."""
    content: dict[str, Any]
    """The resolved content of the file."""
    origins: dict[str, tuple[Origin, ...]]
    """For each entry, by its dotted path, the files and lines that wrote it."""


class WholeRuleset(WholeVersion, frozen=True, kw_only=True):
    """One version of a rule set, whole."""

    effective: date
    """The first day on which it is in effect."""


class WholePricebook(WholeVersion, frozen=True, kw_only=True):
    """One version of a price book, whole."""

    currency: str
    """The currency, by its ISO 4217 code."""


class ChangesAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Every entry that differs between two versions, grouped by what it affects.

    The ledger says the status of both.
    """

    id: str
    """The id of the rule set."""
    since: str
    """The version compared with."""
    since_status: str
    """The status of that version."""
    version: str
    """The version."""
    status: str
    """The status of the version."""
    changes: dict[str, tuple[Change, ...]]
    """The entries that differ, by the part of an answer that they affect."""


class PriceChangesAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Every entry that differs between two versions of a price book."""

    id: str
    """The id of the price book."""
    since: str
    """The version compared with."""
    version: str
    """The version."""
    changes: tuple[PriceChange, ...]
    """The entries that differ."""


def ruleset_changes(before: RuleSet, after: RuleSet, statuses: tuple[str, str]) -> ChangesAnswer:
    """Return what differs between two versions, the older one first, with their statuses."""
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
    """Return what differs between two versions, the older one first."""
    found = price_changes(before, after)
    return PriceChangesAnswer(
        id=after.id, since=before.version, version=after.version, changes=found
    )


def version_routes(catalogs: Catalogs) -> list[HTTPRouteHandler]:
    """Return the routes that show rule sets and price books."""
    rules = (RulesetList, WholeRuleset, ChangesAnswer)
    prices = (PricebookList, WholePricebook, PriceChangesAnswer)
    return [
        *_routes(catalogs.rules, "baseline", catalogs.today, rules, ruleset_changes),
        *_routes(catalogs.prices, "demo", catalogs.today, prices, pricebook_changes),
    ]


def _routes(
    catalog: Catalog[Any],
    example: str,
    today: Callable[[], date],
    answers: tuple[type[msgspec.Struct], type[WholeVersion], type[msgspec.Struct]],
    compare: Callable[[Any, Any, tuple[str, str]], msgspec.Struct],
) -> list[HTTPRouteHandler]:
    noun = catalog.noun
    words = "rule set" if noun == "ruleset" else "price book"
    path = f"/v1/{noun}s"
    list_answer, whole_answer, changes_answer = answers
    identified = (Parameter("identifier", example, f"The id of a {words}."),)
    versioned = (*identified, Parameter("version", "1.1.0", "One of its published versions."))
    since = Parameter("since", "1.0.0", "The version to compare with.")

    def reads(
        name: str,
        summary: str,
        description: str,
        answer: Any,  # noqa: ANN401
        *parameters: Parameter,
    ) -> dict[str, Any]:
        operation = Operation(
            id=name,
            tag="Rule sets" if noun == "ruleset" else "Price books",
            summary=summary,
            description=description,
            answer=answer,
            parameters=parameters,
            etag=len(parameters) > 1,
            refusals=READING,
        )
        return {"operation": operation}

    @get(
        path,
        sync_to_thread=False,
        opt=reads(
            f"list_{noun}s",
            f"List all {words}s and their versions",
            "Withdrawn versions are included, with the date of withdrawal.",
            list_answer,
        ),
    )
    def list_all(request: AnyRequest) -> Response[bytes]:
        query_parameters(request)
        found = tuple(versions(identifier) for identifier in sorted(catalog.shelf.ledger))
        return json_response(list_answer(**{f"{noun}s": found}), answer_headers())

    @get(
        f"{path}/{{identifier:str}}",
        sync_to_thread=False,
        opt=reads(
            f"list_{noun}_versions",
            f"List the versions of one {words}",
            "Withdrawn versions are included, with the date of withdrawal.",
            VersionsAnswer,
            *identified,
        ),
    )
    def list_versions(request: AnyRequest, identifier: str) -> Response[bytes]:
        query_parameters(request)
        return json_response(versions(identifier), answer_headers())

    @get(
        f"{path}/{{identifier:str}}/{{version:str}}",
        opt=reads(
            f"get_{noun}_version",
            f"Get one version of a {words}, with the sources of its entries",
            "Withdrawn versions can still be read.",
            whole_answer,
            *versioned,
        ),
    )
    async def whole(request: AnyRequest, identifier: str, version: str) -> Response[bytes]:
        query_parameters(request)
        found = await catalog.version(identifier, version)
        status = catalog.shelf.status(found)
        return await _cacheable(request, lambda: show(found, status))

    @get(
        f"{path}/{{identifier:str}}/{{version:str}}/changes",
        opt=reads(
            f"compare_{noun}_versions",
            f"Compare one version of a {words} with another",
            "Every entry that differs between the version in the path and the one in `since`.",
            changes_answer,
            *versioned,
            since,
        ),
    )
    async def changed(request: AnyRequest, identifier: str, version: str) -> Response[bytes]:
        earlier = query_parameters(request, required=("since",))["since"]
        after = await catalog.version(identifier, version)
        before = await catalog.version(identifier, earlier)
        statuses = (catalog.shelf.status(before), catalog.shelf.status(after))
        return await _cacheable(request, lambda: compare(before, after, statuses))

    def versions(identifier: str) -> VersionsAnswer:
        records = catalog.records(identifier)
        valid = [r for r in records if r.withdrawn is None and r.effective <= today()]
        return VersionsAnswer(
            id=identifier,
            in_force=valid[-1].version if valid else None,
            versions=msgspec.convert(records, tuple[VersionAnswer, ...], from_attributes=True),
        )

    def show(found: Any, status: str) -> WholeVersion:  # noqa: ANN401 - of either kind
        derived = {
            "status": status,
            "chain": found.resolved.chain,
            "content": {**found.content, "status": status},
            "origins": {
                ".".join(path): found.resolved.origins(path)
                for path in catalog.shelf.kind.shape.entries(found.content)
            },
        }
        names = [name for name in whole_answer.__struct_fields__ if name not in derived]
        return whole_answer(**{name: getattr(found, name) for name in names}, **derived)

    return [list_all, list_versions, whole, changed]


def query_parameters(
    request: AnyRequest, required: tuple[str, ...] = (), optional: tuple[str, ...] = ()
) -> dict[str, str]:
    """Return the query's parameters. Raises ProblemError for unknown and for missing ones."""
    given = dict(request.query_params)
    faults = [
        Fault(path=(n,), problem="Unknown query parameter.", remedy="Remove it.")
        for n in given
        if n not in (*required, *optional)
    ]
    faults += [
        Fault(path=(n,), problem="This query parameter is required.", remedy="Give a version.")
        for n in required
        if n not in given
    ]
    if faults:
        raise bad_query(*faults)
    return given


async def _cacheable(request: AnyRequest, make: Callable[[], msgspec.Struct]) -> Response[bytes]:
    """Return an answer with an entity tag, or 304 if the caller already has it (RFC 9110)."""
    content = await asyncio.to_thread(lambda: msgspec.json.encode(make()))
    # weak: the same content is sent compressed and not
    etag = f'W/"{hashlib.sha256(content).hexdigest()}"'
    headers = {"etag": etag, "cache-control": "public, no-cache"}
    known = [tag.strip() for tag in request.headers.get("if-none-match", "").split(",")]
    if "*" in known or etag.removeprefix("W/") in [tag.removeprefix("W/") for tag in known]:
        return Response(b"", status_code=304, media_type="application/json", headers=headers)
    return Response(content, media_type="application/json", headers=headers)
