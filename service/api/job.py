"""The job of a check: a request to one of the calls, to be answered under two rule sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import msgspec

from service.calls.computing import BY_NAME
from service.calls.forms import Form, SizingForm, SuitabilityForm
from service.calls.layout_forms import LayoutForm
from service.calls.materials_form import MaterialsForm
from service.errors import Fault

_CHOOSING = ("ruleset", "as_of")
_GIVEN = msgspec.Meta(
    description="A request to that call; which rules it goes by is said outside of it.",
    extra_json_schema={"properties": {name: {"type": "null"} for name in _CHOOSING}},
)


class _Job(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="call"):
    """What all jobs share."""


class SuitabilityJob(_Job, frozen=True, kw_only=True, tag="suitability"):
    """A request to /v1/suitability."""

    given: Annotated[SuitabilityForm, _GIVEN]


class SizingJob(_Job, frozen=True, kw_only=True, tag="sizing"):
    """A request to /v1/sizing."""

    given: Annotated[SizingForm, _GIVEN]


class MaterialsJob(_Job, frozen=True, kw_only=True, tag="materials"):
    """A request to /v1/materials."""

    given: Annotated[MaterialsForm, _GIVEN]


class LayoutJob(_Job, frozen=True, kw_only=True, tag="layout"):
    """A request to /v1/layout."""

    given: Annotated[LayoutForm, _GIVEN]


Job = SuitabilityJob | SizingJob | MaterialsJob | LayoutJob


def call_of(job: Job) -> str:
    """Return the name of the call that a job is for."""
    return str(job.__struct_config__.tag)


def job_faults(job: Job) -> list[Fault]:
    """Return what is wrong between members of a job's request that are each fine alone."""
    form: Form = job.given
    remedy = "Leave it out: the rule sets are named beside the draft."
    chosen = [
        Fault(path=(name,), problem="This would choose the rules.", remedy=remedy)
        for name in _CHOOSING
        if getattr(form, name) is not None
    ]
    return _within([*chosen, *form.faults()])


def missing_in_job(raw: Mapping[str, Any]) -> list[Fault]:
    """Return what is wrong between members of a job's request, by which are given alone."""
    job = raw.get("job")
    if not isinstance(job, dict) or not isinstance(job.get("given"), dict):
        return []
    call = BY_NAME.get(str(job.get("call")))
    return _within(call.form.missing(job["given"])) if call else []


def _within(faults: list[Fault]) -> list[Fault]:
    return [msgspec.structs.replace(one, path=("job", "given", *one.path)) for one in faults]
