"""The quick estimate: a bill of materials from a perimeter, before a drawing exists."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from service.calc.bill import Line, Tools, quick_drivers
from service.calc.sizing import Advice, Sizing, size
from service.quantity.output import RunUp, SectionDown
from service.rulesets.figures import Figure
from service.rulesets.ruleset import RuleSet


class StripLength(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How much of one width of strip a layout takes."""

    strip_width: SectionDown
    length: RunUp
    rolls: int


class MaterialsResult(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The bill of materials, by thumb rules from a perimeter or as a layout counts it.

    `strip_width` is null, and there are no lines, where no stocked strip is wide enough, be it for
    some edges of a layout only; `advice` says what to do where none fits snugly. `strips` stands
    where a layout takes strips of several widths: the mesh by width, none without lines.
    """

    perimeter: RunUp
    strip_width: SectionDown | None
    advice: tuple[Advice, ...]
    lines: tuple[Line, ...]
    tools: Tools
    strips: tuple[StripLength, ...] | msgspec.UnsetType = msgspec.UNSET


def strip_of(
    strip_nm: int | None, readings_nm: Sequence[int], rules: RuleSet
) -> tuple[Figure[int | None], Sizing | None]:
    """Return the width of a strip that is given or sized for readings [nm], and its sizing."""
    if strip_nm is not None:
        return Figure(strip_nm), None
    sizing = size(Figure((readings_nm,)), rules)
    return sizing.strip_nm, sizing


def thumb_drivers(
    perimeter_nm: Figure[int], corners: int | None, penetrations: int, rules: RuleSet
) -> dict[str, Figure[int]]:
    """Return what drives a quick estimate; without corners the rule set's usual count is taken."""
    usual = rules.figure(lambda: rules.values.usual_corners if corners is None else corners)
    return quick_drivers(perimeter_nm, usual, Figure(penetrations), rules)
