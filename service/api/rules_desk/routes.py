"""The routes of the rules desk."""

from __future__ import annotations

import asyncio
from typing import Any

import msgspec
from litestar import Response, get
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk
from service.api.problems import ProblemError
from service.api.rules_desk.differences import CLASSES, compared
from service.api.rules_desk.forms import (
    compare_form,
    read_compare,
    read_what_if,
    what_if_form,
    withdrawn_notes,
)
from service.api.rules_desk.listing import Listed, ListPage, list_page, version_rows
from service.api.rules_desk.respond import Asking, known_query, refuser, shown, wants_page
from service.api.rules_desk.standard import standard
from service.calls.computing import CALLS
from service.errors import Fault

_MOST_TITLES = 8
"""Rule sets on a page whose titles are shown: to know one, its version in force is loaded."""


def rules_desk_routes(desk: Desk) -> list[HTTPRouteHandler]:
    """Return the routes of the rules desk."""
    refusing: dict[Any, Any] = {ProblemError: refuser(desk)}
    return [*_reading(desk, refusing), *_asking(desk, refusing)]


def _reading(desk: Desk, refusing: dict[Any, Any]) -> list[HTTPRouteHandler]:
    """Return the routes of pages that are read."""

    @get("/rules", exception_handlers=refusing)
    async def listed(request: Asking) -> Response[str]:
        query = known_query(request, ("q", "page"))
        found = _list(desk, query.get("q", ""), query.get("page", "1"))
        if len(found.rows) <= _MOST_TITLES:
            rows = [await _titled(row, desk) for row in found.rows]
            found = msgspec.structs.replace(found, rows=tuple(rows))
        search = query.get("q", "")
        return await shown("rules_list.html", list=found, search=search, today=desk.today())

    @get("/rules/{identifier:str}", exception_handlers=refusing)
    async def versions(request: Asking, identifier: str) -> Response[str]:
        known_query(request, ())
        _check_known(desk, identifier)
        rows = version_rows(desk.shelf, identifier, desk.today())
        form = compare_form(desk, identifier, {})
        return await shown(
            "rules_versions.html", id=identifier, rows=rows, form=form, today=desk.today()
        )

    @get("/rules/{identifier:str}/{version:str}", exception_handlers=refusing)
    async def read(request: Asking, identifier: str, version: str) -> Response[str]:
        known_query(request, ())
        shelf = desk.shelf
        rules = await desk.version(identifier, version)
        rows = version_rows(shelf, identifier, desk.today())
        row = next(row for row in rows if row.version == version)
        whole = await asyncio.to_thread(standard, rules, row)
        return await shown("rules_standard.html", standard=whole, row=row)

    return [listed, versions, read]


def _asking(desk: Desk, refusing: dict[Any, Any]) -> list[HTTPRouteHandler]:
    """Return the routes of pages with a question to fill in."""

    @get("/rules/what-if", exception_handlers=refusing)
    async def tried(request: Asking) -> Response[str]:
        query = known_query(request, ("call", "job", "before", "after"))
        form, answers = what_if_form(desk, query), None
        if "job" in query:
            form, answers = await read_what_if(desk, form)
        if form.faults and not wants_page(request):
            raise _unusable(form.faults)
        status = 422 if form.faults else 200
        notes = withdrawn_notes(desk, answers[1:]) if answers else ()
        return await shown(
            "rules_what_if.html", status, form=form, answers=answers, notes=notes, calls=CALLS
        )

    @get("/rules/{identifier:str}/differences", exception_handlers=refusing)
    async def differences(request: Asking, identifier: str) -> Response[str]:
        query = known_query(request, ("from", "to", "to_id"))
        _check_known(desk, identifier)
        form, pair = compare_form(desk, identifier, query), None
        if query:
            form, pair = await read_compare(desk, identifier, form)
        if form.faults and not wants_page(request):
            raise _unusable(form.faults)
        found = await asyncio.to_thread(compared, *pair) if pair else None
        status = 422 if form.faults else 200
        return await shown(
            "rules_differences.html",
            status,
            id=identifier,
            notes=withdrawn_notes(desk, pair) if pair else (),
            form=form,
            compared=found,
            classes=CLASSES,
        )

    return [tried, differences]


def _list(desk: Desk, search: str, number: str) -> ListPage:
    """Return a page of the list. Raises ProblemError where there is no page of that number."""
    page = int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0
    found = list_page(desk.shelf, desk.today(), search, page)
    if found is None:
        problem, remedy = f"There is no page {number[:20]!r}.", "Begin with page 1."
        fault = Fault(path=("page",), problem=problem, remedy=remedy)
        raise ProblemError("unusable-request", "The query cannot be used.", [fault])
    return found


async def _titled(row: Listed, desk: Desk) -> Listed:
    """Return a rule set with the title of its version in force, or why it has none."""
    if row.in_force is None:
        return row
    try:
        rules = await desk.version(row.id, row.in_force.version)
    except ProblemError as error:
        return msgspec.structs.replace(row, fault=error.detail)
    return msgspec.structs.replace(row, title=rules.title)


def _check_known(desk: Desk, identifier: str) -> None:
    if identifier not in desk.shelf.ledger:
        shown_id = identifier[:80]
        raise ProblemError("no-such-ruleset", f"There is no {shown_id}. See /rules.")


def _unusable(faults: dict[str, tuple[Fault, ...]]) -> ProblemError:
    """Return a form's faults for a program; those of the job lead into it."""
    found = [
        fault
        if fault.path[:1] == (field,)
        else msgspec.structs.replace(fault, path=(field, *fault.path))
        for field, those in faults.items()
        for fault in those
    ]
    return ProblemError("unusable-request", "The query cannot be used.", found)
