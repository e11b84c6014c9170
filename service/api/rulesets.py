"""The rule sets, to be read: which there are, one of them whole, and what changed between two."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from datetime import date
from typing import Any

import msgspec
from litestar import Request, Response, get
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk
from service.api.problems import ProblemError
from service.api.respond import answer
from service.errors import Fault
from service.publishing.changes import Change, changes
from service.rulesets.ledger import Record
from service.rulesets.overlay import SECTIONS
from service.rulesets.resolve import Origin
from service.rulesets.ruleset import RuleSet


class VersionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One published version."""

    version: str
    effective: date
    digest: str
    withdrawn: date | None


class RulesetAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One rule set: its versions from the oldest to the newest, and the one in force today."""

    id: str
    in_force: str | None
    versions: tuple[VersionAnswer, ...]


class RulesetList(msgspec.Struct, frozen=True, kw_only=True):
    """All rule sets that this service knows."""

    rulesets: tuple[RulesetAnswer, ...]


class WholeRuleset(msgspec.Struct, frozen=True, kw_only=True):
    """One version, whole.

    The ledger says its `status`: a version that was withdrawn keeps its content and its digest.
    `content` is resolved: what overlays change is laid over what they are based on. `chain` names
    the versions that it was made of, the root first. `origins` tells for each entry, by its dotted
    path, which file and line it was written in, first to last: the last one holds.
    """

    id: str
    version: str
    effective: date
    digest: str
    status: str
    title: str
    chain: tuple[str, ...]
    content: dict[str, Any]
    origins: dict[str, tuple[Origin, ...]]


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


def ruleset_routes(desk: Desk) -> list[HTTPRouteHandler]:
    """Return the routes that show rule sets."""

    @get("/v1/rulesets", sync_to_thread=False)
    def listed(request: Request[Any, Any, Any]) -> Response[bytes]:
        check_query(request, ())
        found = tuple(_ruleset(name, desk) for name in sorted(desk.shelf.ledger))
        return answer(RulesetList(rulesets=found))

    @get("/v1/rulesets/{identifier:str}", sync_to_thread=False)
    def versions(request: Request[Any, Any, Any], identifier: str) -> Response[bytes]:
        check_query(request, ())
        if identifier not in desk.shelf.ledger:
            shown = identifier[:80]
            raise ProblemError("no-such-ruleset", f"There is no {shown}. See /v1/rulesets.")
        return answer(_ruleset(identifier, desk))

    @get("/v1/rulesets/{identifier:str}/{version:str}")
    async def whole(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        check_query(request, ())
        rules = await desk.version(identifier, version)
        status = desk.shelf.status(rules)
        etag = f'"{_mark(rules, status)}"'
        if etag in request.headers.get("if-none-match", ""):
            return lasting(b"", etag, 304)
        return lasting(msgspec.json.encode(whole_ruleset(rules, status)), etag)

    @get("/v1/rulesets/{identifier:str}/{version:str}/changes")
    async def changed(
        request: Request[Any, Any, Any], identifier: str, version: str
    ) -> Response[bytes]:
        since = check_query(request, ("since",))["since"]
        after = await desk.version(identifier, version)
        before = await desk.version(identifier, since)
        statuses = (desk.shelf.status(before), desk.shelf.status(after))
        etag = f'"{_mark(before, statuses[0])}-{_mark(after, statuses[1])}"'
        if etag in request.headers.get("if-none-match", ""):
            return lasting(b"", etag, 304)
        found = await asyncio.to_thread(changes_answer, before, after, statuses)
        return lasting(msgspec.json.encode(found), etag)

    return [listed, versions, whole, changed]


def _mark(rules: RuleSet, status: str) -> str:
    """Return what an answer about a version is told from others by: its digest and its status."""
    return rules.digest if status == "published" else f"{rules.digest}-{status}"


def whole_ruleset(rules: RuleSet, status: str) -> WholeRuleset:
    """Return one version whole, with where each entry was written."""
    return WholeRuleset(
        id=rules.id,
        version=rules.version,
        effective=rules.effective,
        digest=rules.digest,
        status=status,
        title=rules.title,
        chain=rules.resolved.chain,
        content={**rules.content, "status": status},
        origins={".".join(path): rules.resolved.origins(path) for path in entries(rules)},
    )


def entries(rules: RuleSet) -> list[tuple[str, ...]]:
    """Return the path of every entry of a rule set."""
    content = rules.content
    paths = [(section, name) for section in SECTIONS for name in content.get(section, {})]
    rows = [
        ("tables", table, "rows", row)
        for table, entry in content["tables"].items()
        for row in entry["rows"]
    ]
    return [*paths, *rows]


def changes_answer(
    before: RuleSet, after: RuleSet, statuses: tuple[str, str] = ("published", "published")
) -> ChangesAnswer:
    """Return what differs between two versions of some status, grouped by what it affects."""
    grouped: dict[str, list[Change]] = {}
    for change in changes(before, after):
        grouped.setdefault(change.affects, []).append(change)
    return ChangesAnswer(
        id=after.id,
        since=before.version,
        since_status=statuses[0],
        version=after.version,
        status=statuses[1],
        changes={affects: tuple(found) for affects, found in grouped.items()},
    )


def check_query(request: Request[Any, Any, Any], wanted: tuple[str, ...]) -> dict[str, str]:
    """Return the query's parameters. Raises ProblemError unless just the wanted ones are given."""
    given = dict(request.query_params)
    faults = [
        Fault(path=(name,), problem="There is no such query parameter.", remedy="Leave it out.")
        for name in given
        if name not in wanted
    ]
    faults += [
        Fault(path=(name,), problem="This query parameter is missing.", remedy="Give a version.")
        for name in wanted
        if name not in given
    ]
    if faults:
        raise ProblemError("unusable-request", "The query cannot be used.", faults)
    return given


def listed_versions(
    records: Sequence[Record], today: date
) -> tuple[str | None, tuple[VersionAnswer, ...]]:
    """Return the version in force on a day, and all versions."""
    standing = [r for r in records if r.withdrawn is None and r.effective <= today]
    versions = tuple(
        VersionAnswer(
            version=record.version,
            effective=record.effective,
            digest=record.digest,
            withdrawn=record.withdrawn,
        )
        for record in records
    )
    return standing[-1].version if standing else None, versions


def _ruleset(identifier: str, desk: Desk) -> RulesetAnswer:
    records = tuple(desk.shelf.ledger[identifier].values())
    in_force, versions = listed_versions(records, desk.today())
    return RulesetAnswer(id=identifier, in_force=in_force, versions=versions)


def lasting(body: bytes, etag: str, status: int = 200) -> Response[bytes]:
    """Return an answer that never changes: a published version is what it is."""
    headers = {"etag": etag, "cache-control": "public, max-age=31536000, immutable"}
    return Response(body, status_code=status, media_type="application/json", headers=headers)
