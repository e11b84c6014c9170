"""The list of rule sets, and the versions of one of them, as pages show them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from urllib.parse import urlencode

import msgspec

from service.rulesets.choice import NoSuchRulesetError, WithdrawnError
from service.rulesets.ledger import Record
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import AnyShelf

PAGE = 100
"""Rule sets on one page of the list."""

Ledger = Mapping[str, Mapping[str, Record]]


class Listed(msgspec.Struct, frozen=True, kw_only=True):
    """One rule set of the list."""

    id: str
    in_force: Record | None
    absent: str
    """Why no version is in force, where none is."""
    versions: int
    title: str = ""
    fault: str = ""


class ListPage(msgspec.Struct, frozen=True, kw_only=True):
    """A page of the list, with the addresses of the pages beside it."""

    rows: tuple[Listed, ...]
    told: str
    page: int
    pages: int
    before: str
    after: str


class VersionRow(msgspec.Struct, frozen=True, kw_only=True):
    """One version, and when it is in force."""

    version: str
    effective: date
    digest: str
    withdrawn: date | None
    state: str
    in_force: bool
    previous: str


def list_page(shelf: AnyShelf[RuleSet], today: date, search: str, page: int) -> ListPage | None:
    """Return a page of the rule sets whose name holds `search`; None where there is no such page.

    Nothing but the ledger is read.
    """
    wanted = search.strip().lower()
    found = sorted(name for name in shelf.ledger if wanted in name)
    pages = max(1, -(-len(found) // PAGE))
    if not 1 <= page <= pages:
        return None
    shown = found[(page - 1) * PAGE : page * PAGE]
    return ListPage(
        rows=tuple(_listed(name, shelf, today) for name in shown),
        told=_told(len(found), len(shelf.ledger), wanted, (page - 1) * PAGE, len(shown)),
        page=page,
        pages=pages,
        before=_address(search, page - 1) if page > 1 else "",
        after=_address(search, page + 1) if page < pages else "",
    )


def version_rows(shelf: AnyShelf[RuleSet], identifier: str, today: date) -> tuple[VersionRow, ...]:
    """Return the versions of a rule set, the newest first."""
    records = list(shelf.ledger[identifier].values())
    standing = [record for record in records if record.withdrawn is None]
    now = _listed(identifier, shelf, today).in_force
    rows = [
        VersionRow(
            version=record.version,
            effective=record.effective,
            digest=record.digest,
            withdrawn=record.withdrawn,
            state=_state(record, standing, today),
            in_force=record == now,
            previous=records[number - 1].version if number else "",
        )
        for number, record in enumerate(records)
    ]
    return tuple(reversed(rows))


def _listed(name: str, shelf: AnyShelf[RuleSet], today: date) -> Listed:
    record, absent = None, ""
    try:
        record = shelf.record(name, today)
    except (NoSuchRulesetError, WithdrawnError) as error:
        absent = str(error)
    return Listed(id=name, in_force=record, absent=absent, versions=len(shelf.ledger[name]))


def _told(found: int, all_: int, wanted: str, start: int, shown: int) -> str:
    sets = f"{found:,} rule set{'' if found == 1 else 's'}"
    where = f" of {all_:,} with “{wanted}” in the name" if wanted else ""
    range_ = f", {start + 1:,} to {start + shown:,} on this page" if shown < found else ""
    return f"{sets}{where}{range_}."


def _address(search: str, page: int) -> str:
    query = {"q": search} if search else {}
    return f"/rules?{urlencode({**query, 'page': page})}"


def _state(record: Record, standing: Sequence[Record], today: date) -> str:
    """Return when a version is in force, in words."""
    if record.withdrawn is not None:
        return f"withdrawn on {record.withdrawn}"
    later = standing[standing.index(record) + 1 :]
    if not later:
        start = "in force since" if record.effective <= today else "in force from"
        return f"{start} {record.effective}"
    last = later[0].effective - timedelta(days=1)
    if last < record.effective:
        return f"never in force: {later[0].version} takes effect the same day"
    if last < today:
        return f"was in force from {record.effective} to {last}"
    start = "in force since" if record.effective <= today else "in force from"
    return f"{start} {record.effective}, to {last}"
