"""Rule sets with one entry changed, by a hair and coarsely, each with the key of the entry."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import msgspec
from gapwright.publishing.mutants import mutants
from gapwright.rulesets.measure import bound
from gapwright.rulesets.ruleset import RuleSet
from gapwright.rulesets.tables import Range
from gapwright.rulesets.values import VALUES

Change = tuple[str, RuleSet]
replace = msgspec.structs.replace

CHOICES = {
    "verdict": ("suitable", "conditional", "survey", "unsuitable"),
    "attachment": ("rails", "frame_clips", "undecided"),
}


def hair_changes(rules: RuleSet) -> Iterator[Change]:
    """Yield each threshold moved by a hair, as publishing moves it."""
    everything = {f"values.{name}" for name in VALUES}
    everything |= {f"zones.{z}.values.{v}" for z, zone in rules.zones.items() for v in zone.changed}
    for mutant in mutants(rules, everything):
        if "left out" not in mutant.changed and "always" not in mutant.changed:
            yield _key(mutant.path), mutant.rules


def _key(path: tuple[str, ...]) -> str:
    """Return the key of the entry that a path leads into, as an explanation names it."""
    lengths = {"values": 2, "mesh": 2, "assumptions": 2, "labor_factors": 2, "tables": 4, "work": 4}
    if path[0] == "bill":
        return ".".join(path[: 3 if path[2] in ("pack", "spare", "minimum") else 4])
    if path[0] == "zones":
        return ".".join(path[: 4 if path[2] == "values" else 5])
    return ".".join(path[: lengths[path[0]]])


def coarse_changes(rules: RuleSet) -> Iterator[Change]:
    """Yield each entry changed by much: halved, doubled, at a far value, or turned round."""
    yield from _values(rules)
    yield from _bill(rules)
    yield from _zones(rules)
    yield from _rows(rules)
    yield from _assumptions(rules)
    yield from _work(rules)


def _far(name: str, value: Any) -> Iterator[Any]:
    """Yield values far from one, all within its bounds, the farthest first."""
    about = VALUES[name]
    if about.kind == "flag":
        yield not value
        return
    least, most = bound(about.kind, about.least), bound(about.kind, about.most)
    if about.kind == "lengths":
        yield from ((one,) for one in value)
        yield (most,)
        yield from (tuple(sorted({*value, 2 * one})) for one in value)
        yield tuple(2 * one for one in value)
        return
    half = value / 2 if about.kind in ("share", "angle") else value // 2
    step = {"length": 25_400_000, "count": 1, "share": Fraction(1, 10), "angle": 8.0}[about.kind]
    lowest = half if name == "cut_increment" else least  # a grid of 1/64 in makes a layout slow
    for far in dict.fromkeys((lowest, most, value * 5, half, value * 2, value + step)):
        if least <= far <= most and far != value:
            yield far


def with_value(rules: RuleSet, name: str, value: Any) -> RuleSet:
    """Return a rule set with a value changed, also in the zones that keep it."""
    zones = {
        key: zone
        if name in zone.changed
        else replace(zone, values=replace(zone.values, **{name: value}))
        for key, zone in rules.zones.items()
    }
    mesh = rules.mesh
    if name == "mesh_opening" and mesh is not None:
        mesh = replace(mesh, spacing_nm=value)
    return replace(rules, values=replace(rules.values, **{name: value}), zones=zones, mesh=mesh)


def _values(rules: RuleSet) -> Iterator[Change]:
    for name in VALUES:
        for value in _far(name, getattr(rules.values, name)):
            yield f"values.{name}", with_value(rules, name, value)


def _bill(rules: RuleSet) -> Iterator[Change]:
    for at, item in enumerate(rules.bill):
        for key, changed in _item(item):
            yield key, replace(rules, bill=(*rules.bill[:at], changed, *rules.bill[at + 1 :]))


def _item(item: Any) -> Iterator[tuple[str, Any]]:
    for part in ("needs", "counted"):
        needs = getattr(item, part)
        for at, need in enumerate(needs):
            for changed in (
                replace(need, each=need.each * 1000),
                replace(need, one_per=max(need.one_per // 1000, 1)),
            ):
                yield need.rule, replace(item, **{part: (*needs[:at], changed, *needs[at + 1 :])})
    if item.spare:
        yield f"{item.rule}.spare", replace(item, spare=item.spare + 5)
    if item.minimum:
        yield f"{item.rule}.minimum", replace(item, minimum=item.minimum * 20)
    if item.pack:
        for pack_size in (max(item.pack.pack_size // 9, 1), item.pack.pack_size * 9):
            yield f"{item.rule}.pack", replace(item, pack=replace(item.pack, pack_size=pack_size))


def _zones(rules: RuleSet) -> Iterator[Change]:
    for name, zone in rules.zones.items():
        for (item, need), ratio in zone.ratios.items():
            more = {**zone.ratios, (item, need): replace(ratio, each=ratio.each * 20)}
            yield (
                f"zones.{name}.bill.{item}.{need}",
                replace(rules, zones={**rules.zones, name: replace(zone, ratios=more)}),
            )
        for value in zone.changed:
            for far in _far(value, getattr(zone.values, value)):
                other = replace(zone, values=replace(zone.values, **{value: far}))
                yield (
                    f"zones.{name}.values.{value}",
                    replace(rules, zones={**rules.zones, name: other}),
                )


def _rows(rules: RuleSet) -> Iterator[Change]:
    for name, compiled in rules.tables.items():
        rows = compiled.rows
        for at, row in enumerate(rows):
            for changed in _row(name, row):
                rest = (*rows[:at], changed, *rows[at + 1 :])
                table = replace(compiled, rows=rest)
                yield (
                    f"tables.{name}.rows.{row.id}",
                    replace(rules, tables={**rules.tables, name: table}),
                )


def _row(table: str, row: Any) -> Iterator[Any]:
    """Yield a row with each of its outputs changed, on its limits and without any."""
    limits = {fact: one for fact, one in row.when.items() if isinstance(one, Range)}
    unlimited = {fact: one for fact, one in row.when.items() if fact not in limits}
    whens = [row.when, unlimited] if limits else [row.when]
    decides = "verdict" if table == "suitability" else "attachment"
    for output, text in row.then.items():
        for other in CHOICES.get(output, (f"{text}.",)):
            then = {**row.then, output: other}
            for when in whens:
                yield replace(row, when=when, then=then, output_value=then[decides])


def _assumptions(rules: RuleSet) -> Iterator[Change]:
    for name, one in rules.assumptions.items():
        for member, value in (
            ("value", one.least),
            ("value", one.most),
            ("value", one.value * 40),
            ("value", one.value * 2),
            ("least", one.least / 2 if one.kind == "time" else max(one.least // 2, 1)),
            ("most", one.most * 3),
        ):
            changed = replace(one, **{member: value})
            yield one.rule, replace(rules, assumptions={**rules.assumptions, name: changed})


def _work(rules: RuleSet) -> Iterator[Change]:
    for at, task in enumerate(rules.work):
        for part in ("job", "estimated", "counted"):
            efforts = getattr(task, part)
            for place, effort in enumerate(efforts):
                longer = replace(effort, minutes=effort.minutes * 9)
                rest = (*efforts[:place], longer, *efforts[place + 1 :])
                work = (*rules.work[:at], replace(task, **{part: rest}), *rules.work[at + 1 :])
                yield effort.rule, replace(rules, work=work)
    for at, one in enumerate(rules.labor_factors):
        more = replace(one, share=one.share * 9)
        found = (*rules.labor_factors[:at], more, *rules.labor_factors[at + 1 :])
        yield one.rule, replace(rules, labor_factors=found)
    if rules.mesh is not None:
        for key, member in (("wire", "wire_nm"), ("density", "density"), ("coating", "coating")):
            mesh = replace(rules.mesh, **{member: getattr(rules.mesh, member) * 2})
            yield f"mesh.{key}", replace(rules, mesh=mesh)
