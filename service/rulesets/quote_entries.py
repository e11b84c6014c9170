"""Entries of a rule file for quotes: what is assumed, how long work takes, what mesh is made of."""

from __future__ import annotations

import msgspec
from msgspec import UNSET, UnsetType

from service.rulesets.entry import Name, Scalar, Slug, Text, When


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The strictness that all parts of a rule file share."""


class AssumptionEntry(_Entry, frozen=True, kw_only=True, rename={"from_": "from"}):
    """What is taken where a job does not say, and the range in which it likely lies."""

    value: Scalar
    from_: Scalar
    to: Scalar
    means: Text
    source: Slug


class AssumptionChange(_Entry, frozen=True, kw_only=True, rename={"from_": "from"}):
    """What an overlay changes in an assumption; what it leaves out stays as it was."""

    value: Scalar | UnsetType = UNSET
    from_: Scalar | UnsetType = UNSET
    to: Scalar | UnsetType = UNSET
    means: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET


class WorkNeedEntry(_Entry, frozen=True, kw_only=True):
    """The time that one person needs for every `one_per` of a driver."""

    driver: Name
    time: Scalar
    one_per: Scalar | None = None
    when: When = {}


class TaskEntry(_Entry, frozen=True, kw_only=True):
    """A task on site or before it, and the times that it takes."""

    means: Text
    source: Slug
    job: dict[Name, WorkNeedEntry] = {}
    """What the job takes as a whole, however its arrays were told."""
    estimate: dict[Name, WorkNeedEntry] = {}
    count: dict[Name, WorkNeedEntry] = {}
    """What an array takes once a layout has counted; left out, as in the estimate."""
    when: When = {}


class SurchargeEntry(_Entry, frozen=True, kw_only=True):
    """A share of the time of all tasks that is added under some conditions."""

    means: Text
    share: Scalar
    source: Slug
    when: When = {}


class MeshEntry(_Entry, frozen=True, kw_only=True):
    """One property of the mesh, what it means and where it comes from."""

    value: Scalar
    means: Text
    source: Slug


class MeshChange(_Entry, frozen=True, kw_only=True):
    """What an overlay changes in a property of the mesh; what it leaves out stays as it was."""

    value: Scalar | UnsetType = UNSET
    means: Text | UnsetType = UNSET
    source: Slug | UnsetType = UNSET
