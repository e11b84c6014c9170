"""The forms of the pages of rule sets: what was typed, and what is wrong with each field.

Nothing that was typed is lost: a form goes back with everything in it, and its faults beside the
fields they belong to.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Mapping

import msgspec

from service.api.catalog import Catalogs
from service.api.problems import ProblemError
from service.api.rules_pages.trial import Asked, ask, first_example, read_call, read_job
from service.calls.computing import BY_NAME
from service.errors import BadInputError, Fault
from service.rulesets.ledger import version_key
from service.rulesets.ruleset import RuleSet

_MOST_NAMES = 200
"""Versions that a field proposes; any other can be typed."""
_FIRST_CALL = "materials"
_WANTED = "Write a rule set, such as baseline, or one version of it, such as baseline@1.0.0."

Faults = dict[str, tuple[Fault, ...]]


class CompareForm(msgspec.Struct, frozen=True, kw_only=True):
    """Which two versions to compare."""

    from_: str
    to_id: str
    to: str
    versions: tuple[str, ...]
    faults: Faults


class WhatIfForm(msgspec.Struct, frozen=True, kw_only=True):
    """Which call, job and two versions to try."""

    call: str
    job: str
    before: str
    after: str
    names: tuple[str, ...]
    faults: Faults


def compare_form(catalogs: Catalogs, identifier: str, query: Mapping[str, str]) -> CompareForm:
    """Return the form as it was typed; what was left out proposes the newest two versions."""
    versions = list(catalogs.rules.shelf.ledger[identifier])
    return CompareForm(
        from_=query.get("from", versions[-2] if len(versions) > 1 else versions[-1]),
        to_id=query.get("to_id", identifier),
        to=query.get("to", versions[-1]),
        versions=tuple(reversed(versions)),
        faults={},
    )


async def read_compare(
    catalogs: Catalogs, identifier: str, form: CompareForm
) -> tuple[CompareForm, tuple[RuleSet, RuleSet] | None]:
    """Return the two versions that a form asks for, or the form with its faults."""
    other = form.to_id.strip() or identifier
    faults: Faults = {}
    before = await _version(catalogs, identifier, form.from_.strip(), "from", faults)
    if other in catalogs.rules.shelf.ledger:
        after = await _version(catalogs, other, form.to.strip(), "to", faults)
    else:
        after = None
        remedy = "Write the name of a rule set, or leave the field empty for this one."
        faults["to_id"] = (Fault(path=("to_id",), problem="There is no such one.", remedy=remedy),)
    if before is not None and after is not None:
        return form, (before, after)
    return msgspec.structs.replace(form, faults=faults), None


def what_if_form(catalogs: Catalogs, query: Mapping[str, str]) -> WhatIfForm:
    """Return the form as it was typed; what was left out proposes an example job."""
    call = query.get("call", _FIRST_CALL)
    newest = _newest(catalogs)
    return WhatIfForm(
        call=call,
        job=query.get("job", first_example(call if call in BY_NAME else _FIRST_CALL)),
        before=query.get("before", newest[-2] if len(newest) > 1 else newest[-1]),
        after=query.get("after", newest[-1]),
        names=_names(catalogs),
        faults={},
    )


async def read_what_if(
    catalogs: Catalogs, form: WhatIfForm
) -> tuple[WhatIfForm, tuple[Asked, RuleSet, RuleSet] | None]:
    """Return a job's answers under the two versions, or the form with all its faults."""
    faults: Faults = {}
    if wrong := read_call(form.call):
        faults["call"] = tuple(wrong)
    before = await _named(catalogs, form.before.strip(), "before", faults)
    after = await _named(catalogs, form.after.strip(), "after", faults)
    job, found = read_job(form.job, form.call)
    if not found and before is not None and after is not None and not faults:
        try:
            asked = await asyncio.to_thread(ask, form.call, job, before, after)
            return form, (asked, before, after)
        except BadInputError as error:
            found = list(error.faults)
    if found:
        faults["job"] = tuple(found)
    return msgspec.structs.replace(form, faults=faults), None


def withdrawn_notes(catalogs: Catalogs, versions: Iterable[RuleSet]) -> tuple[str, ...]:
    """Return a note for each of the versions that was withdrawn."""
    ledger = catalogs.rules.shelf.ledger
    records = [ledger.get(rules.id, {}).get(rules.version) for rules in versions]
    return tuple(
        f"{record.name} was withdrawn on {record.withdrawn}; nothing is quoted under it."
        for record in dict.fromkeys(records)
        if record is not None and record.withdrawn is not None
    )


async def _version(
    catalogs: Catalogs, identifier: str, version: str, field: str, faults: Faults
) -> RuleSet | None:
    try:
        return await catalogs.rules.version(identifier, version)
    except ProblemError as error:
        known = ", ".join(list(catalogs.rules.shelf.ledger.get(identifier, {}))[:20])
        remedy = f"Known: {known}." if error.kind.name == "no-such-ruleset" else ""
        problem = (
            "This is missing." if not version else error.detail.replace(" See /v1/rulesets.", "")
        )
        faults[field] = (Fault(path=(field,), problem=problem, remedy=remedy),)
    return None


async def _named(catalogs: Catalogs, name: str, field: str, faults: Faults) -> RuleSet | None:
    """Return the version that `id@version` names, withdrawn or not, or what `id` names today."""
    identifier, _, version = name.partition("@")
    try:
        if not name:
            raise ProblemError("no-such-ruleset", "This is missing.")
        if version in catalogs.rules.shelf.ledger.get(identifier, {}):
            return await catalogs.rules.version(identifier, version)
        return await catalogs.pick_rules(name, None)
    except ProblemError as error:
        remedy = _WANTED if error.kind.name == "no-such-ruleset" else ""
        faults[field] = (Fault(path=(field,), problem=error.detail, remedy=remedy),)
    return None


def _newest(catalogs: Catalogs) -> tuple[str, ...]:
    """Return the versions of the default rule set, the newest last."""
    default = catalogs.settings.default_ruleset.partition("@")[0]
    return tuple(r.name for r in catalogs.rules.shelf.ledger.get(default, {}).values()) or ("",)


def _names(catalogs: Catalogs) -> tuple[str, ...]:
    """Return the first names of versions that a field proposes."""
    names: list[str] = []
    for identifier in sorted(catalogs.rules.shelf.ledger):
        versions = sorted(catalogs.rules.shelf.ledger[identifier], key=version_key, reverse=True)
        names += [f"{identifier}@{version}" for version in versions]
        if len(names) >= _MOST_NAMES:
            break
    return tuple(names[:_MOST_NAMES])
