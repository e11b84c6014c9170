"""Judge a draft rule file that is sent as YAML: every fault, or the proof, and what it changes."""

from __future__ import annotations

import asyncio
from typing import Annotated, Any, Literal

import msgspec
from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from service.api.desk import Desk, unusable
from service.api.envelope import envelope
from service.api.intake import Intake
from service.api.respond import answer_bytes
from service.api.routes import check_declared, read_body
from service.calls.computing import Computed
from service.calls.forms import Form
from service.errors import BadInputError
from service.publishing.changes import Change, changes
from service.publishing.examples import judge_examples
from service.publishing.mutants import mutants, untested
from service.publishing.what_if import WhatIf, what_if
from service.rulesets.build.build import build
from service.rulesets.reader import MOST_BYTES, RuleFileError, read
from service.rulesets.resolve import resolve
from service.rulesets.ruleset import RuleSet
from service.rulesets.shelf import Shelf

DRAFT = "draft.yaml"


class Job(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A request to one of the calls, to be answered under both rule sets."""

    call: Literal["suitability", "sizing", "materials"]
    given: dict[str, Any]


class DraftForm(Form, frozen=True, kw_only=True):
    """Judge a draft rule file; `ruleset` and `as_of` name the version it is compared with."""

    draft: Annotated[
        str,
        msgspec.Meta(
            min_length=1,
            max_length=MOST_BYTES,
            description="The rule file, as YAML. It may be based on any published version.",
        ),
    ]
    job: Annotated[
        Job | None, msgspec.Meta(description="What if: answer this under both rule sets.")
    ] = None


class FileFault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing wrong with a rule file: where it stands, what it is, and what to write instead."""

    file: str
    line: int
    column: int
    key: str
    problem: str
    remedy: str


class ProvedTable(msgspec.Struct, frozen=True, kw_only=True):
    """A decision table that is proved to answer every input, with no row that never decides."""

    table: str
    hit_policy: str
    rows: int


class DraftAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The judgement of a draft.

    `faults` are all of them; with any, nothing else is said. `untested` are limits that no example
    of the file notices: they keep it from being published. `changes` and `what_if` compare it with
    the rule set that the answer names.
    """

    sound: bool
    faults: tuple[FileFault, ...]
    untested: tuple[FileFault, ...] = ()
    digest: str | None = None
    proved: tuple[ProvedTable, ...] = ()
    examples: int = 0
    limits: int = 0
    changes: tuple[Change, ...] = ()
    what_if: WhatIf | None = None


def draft_route(desk: Desk) -> HTTPRouteHandler:
    """Return the route that judges drafts."""
    intake: Intake[DraftForm] = Intake(DraftForm)

    @post("/v1/rulesets/check", status_code=200)
    async def check(request: Request[Any, Any, Any]) -> Response[bytes]:
        check_declared(request.scope)
        form, raw = desk.form(
            intake, await read_body(request.receive, desk.settings.most_body_bytes)
        )
        against = await desk.rules(form.ruleset, form.as_of)
        imprint = desk.imprint(against)
        try:
            found = await asyncio.to_thread(judge_draft, form, against, desk.shelf)
        except BadInputError as error:
            raise unusable(error, imprint) from None
        computed = Computed(result=found, facts={}, trace=())
        return answer_bytes(envelope(raw, computed, imprint), imprint.headers)

    return check


def judge_draft(form: DraftForm, against: RuleSet, shelf: Shelf) -> DraftAnswer:
    """Return the judgement of a draft. Raises BadInputError when the job cannot be used."""
    try:
        rules = build(resolve(read(form.draft.encode(), DRAFT), shelf.document))
        rules.resolved.refuse(judge_examples(rules))
    except RuleFileError as error:
        return DraftAnswer(sound=False, faults=_told(error))
    job = form.job
    try:
        compared = what_if(job.call, job.given, against, rules) if job else None
    except BadInputError as error:
        raise BadInputError(
            [msgspec.structs.replace(f, path=("job", *f.path)) for f in error.faults]
        ) from None
    return DraftAnswer(
        sound=True,
        faults=(),
        untested=_problems(rules),
        digest=rules.digest,
        proved=tuple(_proved(name, rules) for name in rules.tables),
        examples=len(rules.examples),
        limits=sum(1 for _ in mutants(rules)),
        changes=changes(against, rules),
        what_if=compared,
    )


def _problems(rules: RuleSet) -> tuple[FileFault, ...]:
    try:
        rules.resolved.refuse(untested(rules))
    except RuleFileError as error:
        return _told(error)
    return ()


def _told(error: RuleFileError) -> tuple[FileFault, ...]:
    return tuple(FileFault(**msgspec.structs.asdict(problem)) for problem in error.problems)


def _proved(name: str, rules: RuleSet) -> ProvedTable:
    table = rules.tables[name].table
    return ProvedTable(table=name, hit_policy=table.policy.value, rows=len(table.rows))
