"""The pages on which rule sets are read, compared, and tried on a job."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import islice
from typing import Any

from litestar import Request, Response, Router, get
from litestar.di import Provide
from msgspec.structs import replace

from gapwright.api.catalog import Catalogs
from gapwright.api.pages import page
from gapwright.api.problems import ProblemError, bad_query, problem, problem_response
from gapwright.api.rules_pages.comparison import comparison
from gapwright.api.rules_pages.version import grids, head_lines, removed
from gapwright.api.rules_pages.what_if import example_job, read_job, try_job
from gapwright.api.versions import query_parameters
from gapwright.calls.registry import BY_NAME
from gapwright.errors import Fault, InvalidRequestError
from gapwright.rulesets.ledger import Record, RulesetNotFoundError, WithdrawnError, version_key
from gapwright.rulesets.ruleset import RuleSet
from gapwright.strict import unknown_name

AnyRequest = Request[Any, Any, Any]
Faults = dict[str, list[Fault]]
"""What is wrong with a form, by the names of its fields."""

PAGE = 100
"""Rule sets on one page of the list."""
_MOST_TITLES = 8
"""Rule sets on a page whose titles are shown: to know one, its version in force is loaded."""
_MOST_NAMES = 200
"""Versions that a field proposes; any other can be typed."""
_FIRST_CALL = "materials"
_WANTED = "Write a rule set, such as baseline, or one version of it, such as baseline@1.0.0."


def rules_pages(catalogs: Catalogs) -> Router:
    """Return the routes of the pages of rule sets; to a browser they refuse with a page."""

    def refuse(request: AnyRequest, error: ProblemError) -> Response[Any]:
        document = problem_response(error)
        if not _wants_page(request):
            return document
        response = page("rules_problem.html", error.kind.status, problem=problem(error))
        response.headers.update(document.headers)
        response.headers.update({"cache-control": "no-cache", "vary": "accept"})
        return response

    return Router(
        "/rules",
        route_handlers=[list_all, what_if, list_versions, compare, read],
        dependencies={"catalogs": Provide(lambda: catalogs, sync_to_thread=False)},
        exception_handlers={ProblemError: refuse},
    )


@get("/")
async def list_all(request: AnyRequest, catalogs: Catalogs) -> Response[str]:
    """Return a page of the list; nothing but the ledger is read, except for a few titles."""
    query = query_parameters(request, optional=("q", "page"))
    search, number = query.get("q", ""), query.get("page", "1")
    ledger, today = catalogs.rules.shelf.ledger, catalogs.today()
    found = sorted(name for name in ledger if search.strip().lower() in name)
    pages = max(1, -(-len(found) // PAGE))
    if not (re.fullmatch("[0-9]{1,9}", number) and 1 <= int(number) <= pages):
        wrong, remedy = f"Page {number[:20]!r} does not exist.", "Start at page 1."
        raise bad_query(Fault(path=("page",), problem=wrong, remedy=remedy))
    start = (int(number) - 1) * PAGE
    rows = [_row(catalogs, name, today) for name in found[start : start + PAGE]]
    if len(rows) <= _MOST_TITLES:
        for row in rows:
            row |= await _title(catalogs, row["in_force"])
    return await _page(
        "rules_list.html",
        rows=rows,
        search=search,
        found=len(found),
        all=len(ledger),
        start=start,
        page=int(number),
        pages=pages,
        today=today,
    )


@get("/{identifier:str}")
async def list_versions(request: AnyRequest, catalogs: Catalogs, identifier: str) -> Response[str]:
    """Return the page of the versions of a rule set, the newest first."""
    query_parameters(request)
    records, today = catalogs.rules.records(identifier), catalogs.today()
    return await _page(
        "rules_versions.html",
        id=identifier,
        rows=_version_rows(records, today),
        in_force=_row(catalogs, identifier, today)["in_force"],
        form=_compare_form(identifier, records, {}),
        today=today,
    )


@get("/{identifier:str}/{version:str}")
async def read(
    request: AnyRequest, catalogs: Catalogs, identifier: str, version: str
) -> Response[str]:
    """Return the page of one version, whole."""
    query_parameters(request)
    rules = await catalogs.rules.version(identifier, version)
    rows = _version_rows(catalogs.rules.records(identifier), catalogs.today())
    name = str(rules.content.get("based_on", ""))
    return await _page(
        "rules_standard.html",
        rules=rules,
        row=next(row for row in rows if row["record"].version == version),
        # what it is based on, unless that is the version before it
        base=name if "@" in name and name.partition("@")[0] != rules.id else "",
        head_lines=head_lines,
        grids=grids,
        removed=removed,
    )


@get("/{identifier:str}/differences")
async def compare(request: AnyRequest, catalogs: Catalogs, identifier: str) -> Response[str]:
    """Return the page of the differences that a form asks for, or the form with its faults."""
    query = query_parameters(request, optional=("from", "to", "to_id"))
    form = _compare_form(identifier, catalogs.rules.records(identifier), query)
    faults: Faults = form["faults"]
    other = form["to_id"].strip() or identifier
    found, notes = None, []
    if query:
        before = await _named(catalogs, f"{identifier}@{form['from'].strip()}", "from", faults)
        field = "to" if other in catalogs.rules.shelf.ledger else "to_id"
        after = await _named(catalogs, f"{other}@{form['to'].strip()}", field, faults)
        if before is not None and after is not None:
            found = await asyncio.to_thread(comparison, before, after)
            notes = _withdrawn_notes(catalogs, before, after)
    return await _form_page(
        "rules_differences.html",
        request,
        form=form,
        id=identifier,
        notes=notes,
        compared=found,
    )


@get("/what-if")
async def what_if(request: AnyRequest, catalogs: Catalogs) -> Response[str]:
    """Return the page of a job's answers under two versions, or the form with its faults."""
    query = query_parameters(request, optional=("call", "job", "before", "after"))
    call = query.get("call", _FIRST_CALL)
    default = catalogs.rules.default.partition("@")[0]
    newest = [r.name for r in catalogs.rules.shelf.ledger.get(default, {}).values()] or [""]
    faults: Faults = {}
    form: dict[str, Any] = {
        "call": call,
        "job": query.get("job", example_job(call if call in BY_NAME else _FIRST_CALL)),
        "before": query.get("before", newest[-2:][0]),
        "after": query.get("after", newest[-1]),
        "names": _names(catalogs),
        "faults": faults,
    }
    found = before = after = None
    notes: list[str] = []
    if "job" in query:
        if call not in BY_NAME:
            unknown = "Unknown call."
            remedy = unknown_name(call, list(BY_NAME))
            faults["call"] = [Fault(path=("call",), problem=unknown, remedy=remedy)]
        before = await _named(catalogs, form["before"].strip(), "before", faults)
        after = await _named(catalogs, form["after"].strip(), "after", faults)
        try:
            job = read_job(form["job"], call)
            if job is not None and before is not None and after is not None:
                found = await asyncio.to_thread(try_job, call, job, before, after)
                notes = _withdrawn_notes(catalogs, before, after)
        except InvalidRequestError as error:
            faults["job"] = list(error.faults)
    return await _form_page(
        "rules_what_if.html",
        request,
        form=form,
        trial=found,
        before=before,
        after=after,
        notes=notes,
        calls=list(BY_NAME),
    )


def _row(catalogs: Catalogs, name: str, today: date) -> dict[str, Any]:
    """Return a rule set of the list: its record in force, or why none is."""
    row = {"id": name, "versions": len(catalogs.rules.shelf.ledger[name])}
    try:
        return {**row, "in_force": catalogs.rules.shelf.record(name, today), "absent": ""}
    except (RulesetNotFoundError, WithdrawnError) as error:
        return {**row, "in_force": None, "absent": str(error)}


async def _title(catalogs: Catalogs, record: Record | None) -> dict[str, str]:
    """Return the title of a version, or why it has none."""
    if record is None:
        return {}
    try:
        return {"title": (await catalogs.rules.version(record.id, record.version)).title}
    except ProblemError as error:
        return {"fault": error.detail}


def _names(catalogs: Catalogs) -> list[str]:
    """Return the first names of versions that a field proposes."""
    names = (
        f"{identifier}@{version}"
        for identifier, versions in sorted(catalogs.rules.shelf.ledger.items())
        for version in sorted(versions, key=version_key, reverse=True)
    )
    return list(islice(names, _MOST_NAMES))


async def _named(catalogs: Catalogs, name: str, field: str, faults: Faults) -> RuleSet | None:
    """Return what `id@version` names, withdrawn or not, or what `id` names today."""
    identifier, _, version = name.partition("@")
    try:
        if not name:
            raise ProblemError("ruleset-not-found", "This required field is missing.")
        if version in catalogs.rules.shelf.ledger.get(identifier, {}):
            return await catalogs.rules.version(identifier, version)
        return await catalogs.pick_rules(name, None)
    except ProblemError as error:
        unknown = error.kind.name == "ruleset-not-found"
        remedy = _WANTED if unknown and "@" not in name else ""
        faults[field] = [Fault(path=(field,), problem=error.detail, remedy=remedy)]
    return None


def _withdrawn_notes(catalogs: Catalogs, *versions: RuleSet) -> list[str]:
    ledger = catalogs.rules.shelf.ledger
    records = dict.fromkeys(ledger[rules.id][rules.version] for rules in versions)
    return [
        f"{record.name} was withdrawn on {record.withdrawn}; it cannot be used for new quotes."
        for record in records
        if record.withdrawn is not None
    ]


def _compare_form(
    identifier: str, records: Sequence[Record], query: dict[str, str]
) -> dict[str, Any]:
    """Return the form as it was typed; what was left out proposes the newest two versions."""
    versions = [record.version for record in records]
    proposed = {"from": versions[-2:][0], "to_id": identifier, "to": versions[-1]}
    return {**proposed, **query, "versions": versions[::-1], "faults": {}}


def _version_rows(records: Sequence[Record], today: date) -> list[dict[str, Any]]:
    """Return the versions of a rule set, the newest first, each with its state in words."""
    previous = ("", *(record.version for record in records))
    rows = [
        {"record": record, "state": _state(record, records, today), "previous": before}
        for record, before in zip(records, previous, strict=False)
    ]
    return rows[::-1]


def _state(record: Record, records: Sequence[Record], today: date) -> str:
    """Return when a version is in effect, in words."""
    if record.withdrawn is not None:
        return f"withdrawn on {record.withdrawn}"
    start = f"in effect {'since' if record.effective <= today else 'from'} {record.effective}"
    valid = [other for other in records if other.withdrawn is None]
    later = valid[valid.index(record) + 1 :]
    if not later:
        return start
    last = later[0].effective - timedelta(days=1)
    if last < record.effective:
        return f"never in effect: {later[0].version} takes effect the same day"
    if last < today:
        return f"was in effect from {record.effective} to {last}"
    return f"in effect from {record.effective} to {last}"


async def _page(name: str, status: int = 200, **context: Any) -> Response[str]:  # noqa: ANN401
    """Return a page made from a template, in another thread: a long one takes a while."""
    response = await asyncio.to_thread(page, name, status, **context)
    response.headers["cache-control"] = "no-cache"
    return response


async def _form_page(
    name: str,
    request: AnyRequest,
    form: dict[str, Any],
    **context: Any,  # noqa: ANN401
) -> Response[str]:
    """Return the page of a form; to a program its faults are a problem document."""
    faults: Faults = form["faults"]
    if faults and not _wants_page(request):
        found = [
            # those of a job lead into it
            one if one.path[:1] == (field,) else replace(one, path=(field, *one.path))
            for field, ones in faults.items()
            for one in ones
        ]
        raise bad_query(*found)
    return await _page(name, 422 if faults else 200, form=form, **context)


def _wants_page(request: AnyRequest) -> bool:
    """Return whether the caller is a browser, by what it says that it accepts."""
    return "text/html" in request.headers.get("accept", "").lower()
