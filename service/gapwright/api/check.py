"""Check a draft rule file that is sent as YAML, and compare it with a published version."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Mapping
from inspect import cleandoc
from typing import Annotated, Any, cast

import msgspec
from litestar import Request, Response, post
from litestar.handlers import HTTPRouteHandler

from gapwright.answers import Envelope, encode_answer
from gapwright.api.body import read_body
from gapwright.api.calls import read_request
from gapwright.api.catalog import Catalogs
from gapwright.api.envelope import answer_headers
from gapwright.api.openapi import Operation
from gapwright.api.problems import refusing
from gapwright.calls.layout import LayoutRequest
from gapwright.calls.materials import MaterialsRequest
from gapwright.calls.registry import BY_NAME
from gapwright.calls.request import BaseRequest, Computed
from gapwright.calls.sizing import SizingRequest
from gapwright.calls.suitability import SuitabilityRequest
from gapwright.errors import Fault, InvalidRequestError
from gapwright.pricebooks.build import is_price_book
from gapwright.publishing.changes import Change, changes
from gapwright.publishing.examples import judge_examples
from gapwright.publishing.publish import head_faults
from gapwright.publishing.untested import Allowance, Work, laid_out_limits, try_mutants
from gapwright.publishing.what_if import WhatIf, compare
from gapwright.rulesets.build.build import build
from gapwright.rulesets.reader import Problem as FileProblem
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.shelf import Shelf

DRAFT = "draft.yaml"
MOST_CHARACTERS = 150_000
"""Characters of a draft; the command line takes files up to the reader's own limit."""
MOST_WORK = 50_000
"""Work of one check, in answers of a small call; see gapwright.publishing.untested."""


_RULE_CHOICES = ("ruleset", "as_of")


class _Job(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="call"):
    """What all jobs share."""


class SuitabilityJob(_Job, frozen=True, kw_only=True, tag="suitability"):
    """A request to /v1/suitability."""

    given: SuitabilityRequest
    """The request. `ruleset` and `as_of` go outside it, next to the draft."""


class SizingJob(_Job, frozen=True, kw_only=True, tag="sizing"):
    """A request to /v1/sizing."""

    given: SizingRequest
    """The request. `ruleset` and `as_of` go outside it, next to the draft."""


class MaterialsJob(_Job, frozen=True, kw_only=True, tag="materials"):
    """A request to /v1/materials."""

    given: MaterialsRequest
    """The request. `ruleset` and `as_of` go outside it, next to the draft."""


class LayoutJob(_Job, frozen=True, kw_only=True, tag="layout"):
    """A request to /v1/layout."""

    given: LayoutRequest
    """The request. `ruleset` and `as_of` go outside it, next to the draft."""


Job = SuitabilityJob | SizingJob | MaterialsJob | LayoutJob


class CheckRequest(BaseRequest, frozen=True, kw_only=True):
    """Check a draft rule file; `ruleset` and `as_of` name the version it is compared with."""

    draft: Annotated[str, msgspec.Meta(min_length=1, max_length=MOST_CHARACTERS)]
    """The rule file, as YAML. It may be based on any published version."""
    job: Job | None = None
    """A job to answer under both rule sets."""

    def faults(self) -> list[Fault]:
        """Return what is wrong between members of the job that are each fine alone."""
        if self.job is None:
            return []
        remedy = "Remove it. `ruleset` and `as_of` go next to the draft."
        chosen = [
            Fault(path=(name,), problem="A job in a check cannot choose its rules.", remedy=remedy)
            for name in _RULE_CHOICES
            if getattr(self.job.given, name) is not None
        ]
        return _below([*chosen, *self.job.given.faults()], "job", "given")

    @classmethod
    def missing(cls, raw: Mapping[str, Any]) -> list[Fault]:
        """Return what is wrong between members of the job, by which are given alone."""
        job = raw.get("job")
        if not isinstance(job, dict) or not isinstance(job.get("given"), dict):
            return []
        call = BY_NAME.get(str(job.get("call")))
        return _below(call.request.missing(job["given"]), "job", "given") if call else []


class FileFault(FileProblem, frozen=True, kw_only=True):
    """One fault in a rule file: where it is, what is wrong, and what to write instead."""


class ProvedTable(msgspec.Struct, frozen=True, kw_only=True):
    """A decision table that is proven to cover every input, with no row that never applies."""

    table: str
    """The name of the table."""
    hit_policy: str
    """How its rows are combined into one answer."""
    rows: int
    """Number of rows."""


class DraftAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The result of checking a draft.

    `faults` lists every fault; if there are any, the other members are empty. `untested` lists
    limits that no example in the file tests: the file cannot be published with them. Of the
    `limits`, `tried` were tried; if that is not all of them, `note` says so. `changes` and
    `what_if` compare the draft with the rule set that the answer names.
    """

    sound: bool
    """Whether the draft has no faults."""
    faults: tuple[FileFault, ...]
    """Every fault of the file."""
    untested: tuple[FileFault, ...] = ()
    """Limits without an example that would notice a change."""
    digest: str | None = None
    """The digest of the draft's content; null if it has faults."""
    proved: tuple[ProvedTable, ...] = ()
    """The decision tables that are proven complete."""
    examples: int = 0
    """Number of examples in the file."""
    limits: int = 0
    """Number of limits in the file."""
    tried: int = 0
    """Number of limits that were tried."""
    note: str | None = None
    """What was not tried, as a sentence, or null."""
    changes: tuple[Change, ...] = ()
    """The entries that differ from the rule set that the answer names."""
    what_if: WhatIf | None = None
    """The job under both rule sets; null without a job, or if the draft has faults."""


def check_route(catalogs: Catalogs) -> HTTPRouteHandler:
    """Return the route that checks drafts."""
    operation = Operation(
        id="check_rule_file",
        tag="Rule sets",
        summary="Check a draft rule file and compare it with a published version",
        description=cleandoc(CheckRequest.__doc__ or ""),
        request=CheckRequest,
        examples=("check-draft",),
        answer=Envelope[DraftAnswer],
    )

    @post("/v1/rulesets/check", status_code=200, opt={"operation": operation})
    async def check(request: Request[Any, Any, Any]) -> Response[bytes]:
        body = await read_body(request, catalogs.settings)
        typed, canonical, against, as_of = await read_request(CheckRequest, catalogs, body)
        shelf = cast("Shelf", catalogs.rules.shelf)
        with refusing(against):
            found = await asyncio.to_thread(judge_draft, typed, against, shelf)
        computed = Computed(result=found, facts={})
        content = encode_answer(typed, canonical, computed, against, as_of)
        return Response(content, media_type="application/json", headers=answer_headers(against))

    return check


def judge_draft(typed: CheckRequest, against: RuleSet, shelf: Shelf) -> DraftAnswer:
    """Return the judgement of a draft. Raises InvalidRequestError when the job cannot be used.

    How much of it is tried is bounded by work. The job is answered under the published rule set
    also where the draft is at fault, so that an unusable one is reported in either case.
    """
    allowance = Allowance(MOST_WORK)
    try:
        document = read(typed.draft.encode(), DRAFT)
        if is_price_book(document.tree):  # one fault, in place of one for each section it lacks
            problem = "This is a price book, but this call checks only rule sets."
            remedy = "Check it with `gapwright check`, or send it with POST /v1/quote."
            document.refuse([Fault(path=(), problem=problem, remedy=remedy)])
        rules = build(shelf.resolve(document))
        rules.resolved.refuse([*head_faults(rules, shelf), *_example_faults(rules, allowance)])
    except RuleFileError as error:
        _compared(typed.job, against, against)
        return DraftAnswer(sound=False, faults=_file_faults(error))
    compared = _compared(typed.job, against, rules)
    limits = laid_out_limits(rules, published=shelf.knows(rules))
    trial = try_mutants(rules, limits, allowance)
    untested: tuple[FileFault, ...] = ()
    try:
        rules.resolved.refuse(list(trial.faults))
    except RuleFileError as error:
        untested = _file_faults(error)
    note = f"{trial.tried} of {trial.limits} limits were tried; run `gapwright check` to try all."
    return DraftAnswer(
        sound=True,
        faults=(),
        untested=untested,
        digest=rules.digest,
        proved=tuple(
            ProvedTable(table=name, hit_policy=one.policy.value, rows=len(one.rows))
            for name, one in rules.tables.items()
        ),
        examples=len(rules.examples),
        limits=trial.limits,
        tried=trial.tried,
        note=note if trial.tried < trial.limits else None,
        changes=changes(against, rules),
        what_if=compared,
    )


def _example_faults(rules: RuleSet, allowance: Allowance) -> list[Fault]:
    """Return the faults of the examples, or that they are too much to be judged here."""
    if allowance.spend(Work(rules).examples):
        return judge_examples(rules)
    problem = "The examples take more work than one request may."
    remedy = "Check the file with `gapwright check`, which runs all of them."
    return [Fault(path=("examples",), problem=problem, remedy=remedy)]


def _compared(job: Job | None, before: RuleSet, after: RuleSet) -> WhatIf | None:
    """Return the job's answers under both rule sets.

    Raises InvalidRequestError with their places.
    """
    if job is None:
        return None
    try:
        return compare(str(job.__struct_config__.tag), job.given, before, after)
    except InvalidRequestError as error:
        raise InvalidRequestError(_below(error.faults, "job")) from None


def _file_faults(error: RuleFileError) -> tuple[FileFault, ...]:
    return msgspec.convert(error.problems, tuple[FileFault, ...], from_attributes=True)


def _below(faults: Iterable[Fault], *path: str) -> list[Fault]:
    """Return faults with their paths below another."""
    return [msgspec.structs.replace(one, path=(*path, *one.path)) for one in faults]
