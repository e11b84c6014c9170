"""The pages on which rule sets are read, compared, and tried on a job."""

from __future__ import annotations

import asyncio
from typing import Any

import msgspec
from litestar import Request, Response, Router, get

from service.api.catalog import Catalogs
from service.api.pages import page
from service.api.problems import ProblemError, bad_query, problem, problem_response
from service.api.rules_pages.differences import CLASSES, compared
from service.api.rules_pages.forms import (
    compare_form,
    read_compare,
    read_what_if,
    what_if_form,
    withdrawn_notes,
)
from service.api.rules_pages.listing import Listed, ListPage, list_page, version_rows
from service.api.rules_pages.standard import standard
from service.api.versions import query_parameters
from service.calls.computing import CALLS
from service.errors import Fault

AnyRequest = Request[Any, Any, Any]

_MOST_TITLES = 8
"""Rule sets on a page whose titles are shown: to know one, its version in force is loaded."""
_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'self'"
    ),
    "cache-control": "no-cache",
}


def rules_pages(catalogs: Catalogs) -> Router:
    """Return the routes of the pages of rule sets; to a browser they refuse with a page."""

    def refuse(request: AnyRequest, error: ProblemError) -> Response[Any]:
        rules = error.rules or catalogs.default_rules()
        document = problem_response(error, rules)
        if not _wants_page(request):
            return document
        response = page("rules_problem.html", problem=problem(error, rules))
        response.headers.update({**document.headers, **_HEADERS, "vary": "accept"})
        response.status_code = error.kind.status
        return response

    handlers = [*_reading(catalogs), *_asking(catalogs)]
    return Router("/rules", route_handlers=handlers, exception_handlers={ProblemError: refuse})


def _reading(catalogs: Catalogs) -> list[Any]:
    """Return the routes of pages that are read."""

    @get("/")
    async def list_all(request: AnyRequest) -> Response[str]:
        query = query_parameters(request, optional=("q", "page"))
        found = _list(catalogs, query.get("q", ""), query.get("page", "1"))
        if len(found.rows) <= _MOST_TITLES:
            rows = [await _titled(row, catalogs) for row in found.rows]
            found = msgspec.structs.replace(found, rows=tuple(rows))
        search = query.get("q", "")
        return await _page("rules_list.html", list=found, search=search, today=catalogs.today())

    @get("/{identifier:str}")
    async def list_versions(request: AnyRequest, identifier: str) -> Response[str]:
        query_parameters(request)
        _check_known(catalogs, identifier)
        today = catalogs.today()
        rows = version_rows(catalogs.rules.shelf, identifier, today)
        form = compare_form(catalogs, identifier, {})
        return await _page("rules_versions.html", id=identifier, rows=rows, form=form, today=today)

    @get("/{identifier:str}/{version:str}")
    async def read(request: AnyRequest, identifier: str, version: str) -> Response[str]:
        query_parameters(request)
        shelf = catalogs.rules.shelf
        rules = await catalogs.rules.version(identifier, version)
        rows = version_rows(shelf, identifier, catalogs.today())
        row = next(row for row in rows if row.version == version)
        whole = await asyncio.to_thread(standard, rules, row)
        return await _page("rules_standard.html", standard=whole, row=row)

    return [list_all, list_versions, read]


def _asking(catalogs: Catalogs) -> list[Any]:
    """Return the routes of pages with a question to fill in."""

    @get("/what-if")
    async def try_job(request: AnyRequest) -> Response[str]:
        query = query_parameters(request, optional=("call", "job", "before", "after"))
        form, answers = what_if_form(catalogs, query), None
        if "job" in query:
            form, answers = await read_what_if(catalogs, form)
        if form.faults and not _wants_page(request):
            raise _unusable(form.faults)
        status = 422 if form.faults else 200
        notes = withdrawn_notes(catalogs, answers[1:]) if answers else ()
        return await _page(
            "rules_what_if.html", status, form=form, answers=answers, notes=notes, calls=CALLS
        )

    @get("/{identifier:str}/differences")
    async def compare(request: AnyRequest, identifier: str) -> Response[str]:
        query = query_parameters(request, optional=("from", "to", "to_id"))
        _check_known(catalogs, identifier)
        form, pair = compare_form(catalogs, identifier, query), None
        if query:
            form, pair = await read_compare(catalogs, identifier, form)
        if form.faults and not _wants_page(request):
            raise _unusable(form.faults)
        found = await asyncio.to_thread(compared, *pair) if pair else None
        status = 422 if form.faults else 200
        return await _page(
            "rules_differences.html",
            status,
            id=identifier,
            notes=withdrawn_notes(catalogs, pair) if pair else (),
            form=form,
            compared=found,
            classes=CLASSES,
        )

    return [try_job, compare]


async def _page(name: str, status: int = 200, **context: Any) -> Response[str]:  # noqa: ANN401
    """Return a page made from a template, in another thread: a long one takes a while."""
    response = await asyncio.to_thread(page, name, **context)
    response.headers.update(_HEADERS)
    response.status_code = status
    return response


def _wants_page(request: AnyRequest) -> bool:
    """Return whether the caller is a browser, by what it says that it accepts."""
    return "text/html" in request.headers.get("accept", "").lower()


def _list(catalogs: Catalogs, search: str, number: str) -> ListPage:
    """Return a page of the list. Raises ProblemError where there is no page of that number."""
    number_ = int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0
    found = list_page(catalogs.rules.shelf, catalogs.today(), search, number_)
    if found is None:
        problem, remedy = f"There is no page {number[:20]!r}.", "Begin with page 1."
        raise bad_query(Fault(path=("page",), problem=problem, remedy=remedy))
    return found


async def _titled(row: Listed, catalogs: Catalogs) -> Listed:
    """Return a rule set with the title of its version in force, or why it has none."""
    if row.in_force is None:
        return row
    try:
        rules = await catalogs.rules.version(row.id, row.in_force.version)
    except ProblemError as error:
        return msgspec.structs.replace(row, fault=error.detail)
    return msgspec.structs.replace(row, title=rules.title)


def _check_known(catalogs: Catalogs, identifier: str) -> None:
    if identifier not in catalogs.rules.shelf.ledger:
        raise ProblemError("no-such-ruleset", f"There is no {identifier[:80]}. See /rules.")


def _unusable(faults: dict[str, tuple[Fault, ...]]) -> ProblemError:
    """Return a form's faults for a program; those of the job lead into it."""
    return bad_query(
        *(
            fault
            if fault.path[:1] == (field,)
            else msgspec.structs.replace(fault, path=(field, *fault.path))
            for field, those in faults.items()
            for fault in those
        )
    )
