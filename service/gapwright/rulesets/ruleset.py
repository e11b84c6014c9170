"""A rule set as the calculation takes it: resolved, checked, and in base units."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager, nullcontext
from datetime import date
from fractions import Fraction
from typing import Any, Literal, TypeVar

import msgspec

from gapwright.rulesets.figures import Figure, Recorder
from gapwright.rulesets.kind import Version
from gapwright.rulesets.tables import Table
from gapwright.rulesets.values import Values
from gapwright.rulesets.vocabulary import Severity

T = TypeVar("T")
Conditions = tuple[tuple[str, frozenset[Any]], ...]
"""Facts and the values of each that fulfil the condition; empty: always."""


class Pack(msgspec.Struct, frozen=True, kw_only=True, cache_hash=True):
    """What an item is sold in. `pack_size` counts the item's unit: nm of mesh, or pieces."""

    name: str
    pack_size: int
    also: tuple[int, ...]


class Need(msgspec.Struct, frozen=True, kw_only=True, cache_hash=True):
    """One reason to need an item: `each` of it for every `one_per` of its driver, rounded up."""

    id: str
    driver: str
    each: int
    one_per: int
    when: Conditions
    rule: str


class Item(msgspec.Struct, frozen=True, kw_only=True, cache_hash=True):
    """One line of the bill. A `measured` item is a length [nm]; any other is a count."""

    id: str
    description: str
    measured: bool
    needs: tuple[Need, ...]
    counted: tuple[Need, ...]
    """What is needed once a layout has counted; the same as `needs` where nothing else is said."""
    spare: Fraction
    minimum: int
    pack: Pack | None
    when: Conditions
    rule: str


class Tool(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A tool and whether the job needs it or it only helps."""

    id: str
    description: str
    need: Literal["needed", "helpful"]
    when: Conditions


class Caution(msgspec.Struct, frozen=True, kw_only=True):
    """A caution and the facts under which it is given."""

    id: str
    severity: Severity
    text: str
    source: str
    when: Conditions


class Ratio(msgspec.Struct, frozen=True, kw_only=True):
    """How much of an item is needed: `each` for every `one_per` of the driver."""

    each: int
    one_per: int


class Zone(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """What applies to the sides in one zone: all values, and the ratios that differ.

    `changed` names the values that differ from the standard.
    """

    values: Values
    changed: frozenset[str]
    ratios: Mapping[tuple[str, str], Ratio]


class Assumption(msgspec.Struct, frozen=True, kw_only=True):
    """What is taken where a job does not say: nm, a count, or minutes by its kind."""

    name: str
    kind: str
    value: int | Fraction
    least: int | Fraction
    most: int | Fraction
    description: str
    rule: str


class Effort(msgspec.Struct, frozen=True, kw_only=True):
    """One reason for work: `minutes` of one person for every `one_per` of its driver."""

    id: str
    driver: str
    minutes: Fraction
    one_per: int
    when: Conditions
    rule: str


class Task(msgspec.Struct, frozen=True, kw_only=True):
    """One task: what it takes for the whole job, for estimated arrays and for laid-out ones."""

    id: str
    description: str
    job: tuple[Effort, ...]
    estimated: tuple[Effort, ...]
    counted: tuple[Effort, ...]
    """The same as `estimated` where nothing else is said."""
    when: Conditions
    rule: str


class LaborFactor(msgspec.Struct, frozen=True, kw_only=True):
    """A share of the time of all tasks, added where its conditions are met."""

    id: str
    description: str
    share: Fraction
    when: Conditions
    rule: str


class Mesh(msgspec.Struct, frozen=True, kw_only=True):
    """What the mesh is made of: wire and spacing [nm], density [g/m³], coating by bare weight."""

    wire_nm: int
    spacing_nm: int
    density: Fraction
    coating: Fraction


class RuleSet(Version, frozen=True, kw_only=True, eq=False, weakref=True):
    """One version of one rule set."""

    effective: date
    units: Literal["imperial", "metric"]
    values: Values
    bill: tuple[Item, ...]
    tools: tuple[Tool, ...]
    cautions: tuple[Caution, ...]
    tables: Mapping[str, Table]
    zones: Mapping[str, Zone]
    assumptions: Mapping[str, Assumption]
    work: tuple[Task, ...]
    labor_factors: tuple[LaborFactor, ...]
    mesh: Mesh | None
    examples: Mapping[str, Any]
    recorder: Recorder | None = None
    """Notes what is read, where an explanation was asked for."""

    def figure(self, compute: Callable[[], T]) -> Figure[T]:
        """Return what `compute` returns, with the entries that it read if reads are recorded."""
        return Figure(compute()) if self.recorder is None else self.recorder.figure(compute)

    def show(self, pointer: str, figure: Figure[T]) -> T:
        """Return a figure's value for its place in the result, given as a JSON pointer."""
        if self.recorder is not None:
            self.recorder.show(pointer, figure.reads)
        return figure.value

    def show_each(self, pointer: str, figures: Iterable[Figure[T | None]]) -> tuple[T, ...]:
        """Return the values of figures for a list in the result, given as a JSON pointer.

        A figure that is None is left out, and what it follows from is noted under the whole list.
        """
        shown: list[T] = []
        for figure in figures:
            absent = figure.value is None
            value = self.show(pointer if absent else f"{pointer}/{len(shown)}", figure)
            if value is not None:
                shown.append(value)
        return tuple(shown)

    def under(self, pointer: str) -> AbstractContextManager[None]:
        """Return a context in which the pointers of shown figures get a prefix."""
        return self.recorder.under(pointer) if self.recorder else nullcontext()
