"""The trace cannot lie: a rule nudged by a hair changes the figures that cite it, and no others.

Sound: whatever figure a nudge changes has a step in the trace, and that step cites the rule.
Needed: for each citation there is a job in which a nudge of that rule changes that figure.
The jobs stand on and near the limits of the rules, where a hair has an effect.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from functools import cached_property, lru_cache

import msgspec
import pytest

from service.calls.computing import BY_NAME
from service.errors import BadInputError, GapwrightError
from service.places import shipped
from service.rulesets.shelf import Shelf
from service.rulesets.tables.lookup import compile_table
from service.rulesets.values import kinds
from service.strict import convert
from tests.unit.measures import IN

HAIR_NM = IN // 64
HAIRS = {"length": HAIR_NM, "share": Fraction(1, 100), "angle": 0.5, "count": 1}
NAMES = ("item", "need", "tool", "fact", "rule")
"""What the things in a list of an answer are called by, whatever their place in it."""


@lru_cache(maxsize=8)
def rules_named(name):
    shelf = Shelf(shipped("rules"))
    identifier, version = name.split("@")
    return shelf.load(shelf.ledger[identifier][version])


def with_value(rules, name, value):
    """Return a rule set with a value moved, also in the zones that do not say otherwise."""
    zones = {
        zone: entry
        if name in entry.changed
        else msgspec.structs.replace(
            entry, values=msgspec.structs.replace(entry.values, **{name: value})
        )
        for zone, entry in rules.zones.items()
    }
    values = msgspec.structs.replace(rules.values, **{name: value})
    return msgspec.structs.replace(rules, values=values, zones=zones)


def value_nudges(rules):
    for name, kind in kinds().items():
        value = getattr(rules.values, name)
        if kind == "flag":
            moved = [not value]
        elif kind == "lengths":
            moved = [value[:at] + value[at + 1 :] for at in range(len(value))]
            moved += [
                (*value[:at], width + hair, *value[at + 1 :])
                for at, width in enumerate(value)
                for hair in (HAIR_NM, -HAIR_NM)
            ]
        else:
            hair = HAIRS[kind]
            moved = [value + hair, *([value - hair] if value >= hair else [])]
        for one in moved:
            yield f"values.{name}", with_value(rules, name, one)


def need_nudges(need):
    hair = HAIR_NM if need.one_per > 1_000_000 else 1
    yield msgspec.structs.replace(need, each=need.each + 1)
    yield msgspec.structs.replace(need, one_per=need.one_per + hair)
    if need.one_per > hair:
        yield msgspec.structs.replace(need, one_per=need.one_per - hair)


def item_nudges(item):
    for part in ("needs", "counted"):
        needs = getattr(item, part)
        for at, need in enumerate(needs):
            for moved in need_nudges(need):
                rest = (*needs[:at], moved, *needs[at + 1 :])
                yield need.rule, msgspec.structs.replace(item, **{part: rest})
    for way in (1, -1):
        spare = item.spare + way * Fraction(1, 100)
        if item.spare:
            yield f"{item.rule}.spare", msgspec.structs.replace(item, spare=spare)
        if item.minimum:
            moved = msgspec.structs.replace(item, minimum=item.minimum + way)
            yield f"{item.rule}.minimum", moved
        if item.pack:
            hair = HAIR_NM if item.measured else 1
            pack = msgspec.structs.replace(item.pack, holds=max(item.pack.holds + way * hair, 1))
            yield f"{item.rule}.pack", msgspec.structs.replace(item, pack=pack)


def bill_nudges(rules):
    for at, item in enumerate(rules.bill):
        for rule, moved in item_nudges(item):
            bill = (*rules.bill[:at], moved, *rules.bill[at + 1 :])
            yield rule, msgspec.structs.replace(rules, bill=bill)


def zone_nudges(rules):
    for name, zone in rules.zones.items():
        for (item, need), ratio in zone.ratios.items():
            for hair in (HAIR_NM, -HAIR_NM):
                moved = msgspec.structs.replace(ratio, one_per=ratio.one_per + hair)
                other = msgspec.structs.replace(zone, ratios={**zone.ratios, (item, need): moved})
                yield f"zones.{name}.bill.{item}.{need}", in_zone(rules, name, other)
        for value in zone.changed & {"mesh_allowance"}:
            share = getattr(zone.values, value) + Fraction(1, 100)
            values = msgspec.structs.replace(zone.values, **{value: share})
            other = msgspec.structs.replace(zone, values=values)
            yield f"zones.{name}.values.{value}", in_zone(rules, name, other)
        for value in zone.changed & {"lap", "longest_span"}:
            values = msgspec.structs.replace(
                zone.values, **{value: getattr(zone.values, value) - HAIR_NM}
            )
            other = msgspec.structs.replace(zone, values=values)
            yield f"zones.{name}.values.{value}", in_zone(rules, name, other)


def in_zone(rules, name, zone):
    return msgspec.structs.replace(rules, zones={**rules.zones, name: zone})


def table_nudges(rules):
    """Yield each row with an end of a range moved by a hair, and with each of its outputs moved."""
    for name, compiled in rules.tables.items():
        rows = compiled.table.rows
        for at, row in enumerate(rows):
            for moved in (*moved_ends(row), *moved_outputs(name, row)):
                rest = (*rows[:at], moved, *rows[at + 1 :])
                table = compile_table(msgspec.structs.replace(compiled.table, rows=rest))
                tables = {**rules.tables, name: table}
                yield (
                    f"tables.{name}.rows.{row.id}",
                    msgspec.structs.replace(rules, tables=tables),
                )


def moved_ends(row):
    for fact, condition in row.when.items():
        if isinstance(condition, tuple):
            (part,) = condition
            for end in ("least", "below"):
                for hair in (HAIR_NM, -HAIR_NM) if getattr(part, end) is not None else ():
                    other = msgspec.structs.replace(part, **{end: getattr(part, end) + hair})
                    yield msgspec.structs.replace(row, when={**row.when, fact: (other,)})


OTHER = {
    "suitable": "conditional",
    "conditional": "survey",
    "survey": "unsuitable",
    "unsuitable": "survey",
    "rails": "frame_clips",
    "frame_clips": "rails",
    "undecided": "rails",
}


def moved_outputs(table, row):
    for output, text in row.then.items():
        ranked = output in ("verdict", "attachment")
        then = {**row.then, output: OTHER[text] if ranked else f"{text}."}
        value = then["verdict" if table == "suitability" else "attachment"]
        yield msgspec.structs.replace(row, then=then, output_value=value)


def all_nudges(rules):
    return [
        *value_nudges(rules),
        *bill_nudges(rules),
        *zone_nudges(rules),
        *table_nudges(rules),
    ]


def leaves(part, at=""):
    """Return the figures of an answer by pointer, those of named things by name, not by place."""
    if isinstance(part, list) and part and isinstance(part[0], dict):
        part = {named(one, str(place)): one for place, one in enumerate(part)}
    if isinstance(part, dict) and part:
        found = {}
        for name, one in part.items():
            found.update(leaves(one, f"{at}/{name}"))
        return found
    if isinstance(part, list) and part:
        return {f"{at}/{place}": one for place, one in enumerate(part)}
    return {at: part if part or part in (False, 0) else None}


def named(thing, place):
    return next((str(thing[name]).split(".")[-1] for name in NAMES if name in thing), place)


class Answer:
    """The figures of one answer, and what the step of each of them cites."""

    def __init__(self, call, form, rules):
        computed = BY_NAME[call].compute(form, rules)
        self.result = computed.result
        self.trace = computed.trace

    @cached_property
    def plain(self):
        return msgspec.json.decode(msgspec.json.encode(self.result))

    @cached_property
    def figures(self):
        return leaves(self.plain)

    @cached_property
    def cites(self):
        found = {}
        for step in self.trace:
            figure = by_name(step.figure, self.plain)
            found[figure] = {*found.get(figure, ()), *step.cites}
        return found

    def steps(self, figure):
        """Return the figures with a step that tell of a figure: itself, round it, or inside it."""
        return [
            step
            for step in self.cites
            if step == figure
            or figure.startswith(f"{step}/")
            or (step.startswith(f"{figure}/") and figure)
        ]


def by_name(pointer, result):
    steps = pointer.split("/")
    if steps[1] == "lines" and len(steps) > 2 and steps[2].isdigit():
        steps[2] = result["lines"][int(steps[2])]["item"]
    return "/".join(steps)


def answered(call, form, rules):
    try:
        return Answer(call, form, rules)
    except (BadInputError, GapwrightError):
        return None  # the nudged rules do not answer this job at all


def covers(cited, rule):
    return cited == rule or rule.startswith(f"{cited}.")


def sites(before, after):
    """Return the figures that differ between two answers."""
    if before.result == after.result:
        return []
    names = before.figures.keys() | after.figures.keys()
    return [n for n in names if before.figures.get(n, n) != after.figures.get(n, n)]


class Findings:
    """What the nudges of some rule sets showed over some jobs of one call."""

    def __init__(self):
        self.uncited = defaultdict(set)
        self.untraced = defaultdict(set)
        self.needed = set()
        self.cited = set()

    def look(self, call, job, rules, nudges):
        form = convert(job, BY_NAME[call].form)
        before = Answer(call, form, rules)
        for figure, cites in before.cites.items():
            self.cited |= {(figure, cite) for cite in cites}
        for rule, nudged in nudges:
            after = answered(call, form, nudged)
            for figure in sites(before, after) if after else ():
                self._judge(figure, rule, before, after)

    def _judge(self, figure, rule, before, after):
        self.needed |= {
            (step, cite)
            for step in before.steps(figure)
            for cite in before.cites[step]
            if covers(cite, rule) or covers(rule, cite)
        }
        steps = before.steps(figure)
        cites = {cite for step in steps for cite in before.cites[step]}
        if rule.startswith("tables."):  # a row that did not match can begin to
            steps = [*steps, *after.steps(figure)]
            cites |= {cite for step in after.steps(figure) for cite in after.cites[step]}
        if own_rule(figure, rule) or any(covers(cite, rule) for cite in cites):
            return
        (self.uncited if steps else self.untraced)[rule].add(figure)


def own_rule(figure, rule):
    """Return whether a figure stands in a reason that names the rule itself."""
    return figure.startswith("/reasons/") and rule.endswith(f".{figure.split('/')[2]}")


def told(found):
    return {rule: sorted(figures) for rule, figures in sorted(found.items())}


def in_inches(*readings):
    return {"clearance": {"readings": [f"{reading} in" for reading in readings]}}


SIZINGS = [
    in_inches("2"),
    in_inches("4"),
    in_inches("4 1/64"),
    in_inches("3 63/64"),
    in_inches("6"),
    in_inches("6 1/64"),
    in_inches("8"),
    in_inches("10"),
    in_inches("10 1/64"),
    in_inches("1 1/2"),
    in_inches("1 31/64"),
    in_inches("1 1/2", "6"),
    in_inches("4 1/2"),
    in_inches("4 1/2", "4 1/4"),
    in_inches("5", "5", "4", "5"),
    in_inches("5", "5", "4 1/64", "5"),
    in_inches("5", "5", "4", "4", "5", "5", "5", "5"),
    in_inches("6", "6", "2", "6"),
    in_inches("10", "10", "1", "10"),
    in_inches("3 1/8", "2 1/8"),
    {"clearance": {"readings": ["72 mm", "42 mm"]}},
    {"clearance": {"readings": ["37 mm"]}},
    in_inches("1.495"),
    in_inches("2 3/8", "2 3/8", "2 3/8", "1 25/64"),
    in_inches("2 3/8", "2 3/8", "2 3/8", "1 3/8"),
    in_inches(*["2 3/8"] * 26, *["1 1/4"] * 9),
    in_inches(*["8"] * 26, *["2"] * 9),
]
"""Readings on the limits of the stocked widths, of a web, of a tight spot and of the spring."""


QUICK = {"strip_width": "8 in"}
MATERIALS = [
    {"perimeter": "90 ft", **in_inches("4 1/2")},
    {"perimeter": "90 ft", **in_inches("6")},
    {"perimeter": "90 ft", **in_inches("10")},
    {"perimeter": "90 ft", **in_inches("10 1/64")},
    {"perimeter": "90 ft 1/64 in", **QUICK},
    {"perimeter": "92 ft", **QUICK, "joining": "ties"},
    {"perimeter": "92 ft 1/64 in", **QUICK, "joining": "ties"},
    {"perimeter": "100 ft", **QUICK, "painted": "spray"},
    {"perimeter": "25 m", **QUICK, "painted": "spray"},
    {"perimeter": "5000 ft", **QUICK},
    {"perimeter": "500 ft", **QUICK, "corners": 40},
    {"perimeter": "27 m", **QUICK},
    {"perimeter": "27.6 m", **QUICK, "joining": "ties"},
    {"perimeter": "60 m", **QUICK, "corners": 1},
    {"perimeter": "3 m", **QUICK, "corners": 1},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "30 ft"}},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "90 ft"}},
    {"perimeter": "27 m", **QUICK, "zones": {"exposed": "27 m"}},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "30 ft"}, "joining": "ties"},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "90 ft"}, "joining": "ties"},
    {"perimeter": "24 m", **QUICK, "zones": {"exposed": "24 m"}, "joining": "ties"},
    {"perimeter": "90 ft", **QUICK, "zones": {"visible": "30 ft"}},
    {"perimeter": "80 ft", **QUICK, "zones": {"exposed": "40 ft"}},
    *({"perimeter": "90 ft", **sizing} for sizing in SIZINGS[-8:]),
]

SITE_FLAGS = ("active_nest", "bat_roost", "animals_inside", "poor_roof", "damaged_wiring")


def site(covering="composition_shingle", racking="railed", reading="4", **more):
    return {"covering": covering, "racking": racking, **in_inches(reading), **more}


SUITABILITY = [
    {},
    {"covering": "composition_shingle", "racking": "railed"},
    *(site(reading=reading) for reading in ("1 1/2", "1 31/64", "10", "9 63/64", "4")),
    *(
        site(covering)
        for covering in ("slate", "tile", "metal_seam", "metal_profiled", "membrane", "unknown")
    ),
    *(site(racking=racking) for racking in ("rail_less", "ballasted", "unknown")),
    *(site(site={flag: True}) for flag in (*SITE_FLAGS, "maker_objects")),
    site("metal_seam", "rail_less"),
]

BASELINE, SEACLIFF = "baseline@1.0.0", "seacliff@1.0.0"


def snapped(name):
    return with_value(rules_named(name), "snap_bends_to_wires", True)


def usually(clearance):
    """Return the baseline with a usual clearance that stands on a limit of a table."""
    return with_value(rules_named(BASELINE), "usual_clearance", clearance)


def allowing():
    """Return the baseline with more mesh in its exposed zone."""
    rules = rules_named(BASELINE)
    zone = rules.zones["exposed"]
    values = msgspec.structs.replace(zone.values, mesh_allowance=Fraction(3, 10))
    changed = zone.changed | {"mesh_allowance"}
    return in_zone(rules, "exposed", msgspec.structs.replace(zone, values=values, changed=changed))


BLOCK = {
    "rows": 2,
    "columns": 5,
    "long_side": "66 in",
    "short_side": "40 in",
    "column_gap": "1/2 in",
    "row_gap": "1/2 in",
}
COUNTED = [
    {
        "layout": {
            "array": {"blocks": [BLOCK]},
            "edges": [{"edge": "A2", **in_inches("9")}],
        },
        **in_inches("3 1/2"),
    },
    *(
        {
            "layout": {
                "array": {"blocks": [BLOCK]},
                "edges": [{"edge": "A2", **in_inches(high)}],
            },
            **in_inches("4 1/2"),
        }
        for high in ("10", "10 1/64")
    ),
    {"layout": {"array": {"blocks": [BLOCK]}}, **in_inches("4 1/2")},
    {"layout": {"array": {"blocks": [{**BLOCK, "columns": 9}]}}, **QUICK, "joining": "ties"},
    {
        "layout": {
            "array": {"blocks": [BLOCK]},
            "penetrations": [{"x": "60 in", "y": "-6 in"}],
            "facings": [{"facing": "eave", "zone": "exposed"}],
        },
        **in_inches("4 1/2"),
    },
]
BY_EDGE = {
    "edges": [{"edge": "A2", **in_inches("7")}, {"edge": "A4", **in_inches("6 1/64", "6")}],
    "facings": [{"facing": "ridge", **in_inches("4 1/4")}],
}
LAID = [
    {"array": {"blocks": [BLOCK]}, **in_inches("4 1/2"), **BY_EDGE},
    {"array": {"blocks": [BLOCK]}, **in_inches("4 1/2")},
    {"array": {"blocks": [{**BLOCK, "column_gap": "2 in"}]}, **in_inches("4")},
    {
        "array": {"blocks": [BLOCK, {**BLOCK, "y": "140 in", "x": "3 in"}]},
        "facings": [{"facing": "eave", "zone": "exposed"}, {"facing": "left", "open": True}],
        "rails": {"per_row": 2, "inset": "25 %", "overhang": "2 in"},
        **in_inches("10 1/64"),
    },
    {
        "array": {"blocks": [BLOCK]},
        "penetrations": [{"x": "60 in", "y": "-6 in"}, {"x": "-6 in", "y": "70 in"}],
        "rails": {
            "segments": [
                {"start": {"x": "-4 in", "y": "12 in"}, "end": {"x": "206 in", "y": "12 in"}}
            ]
        },
        **in_inches("4 1/2"),
    },
]


def taken(calls):
    """Return the call, the jobs and the rule sets that are looked at together."""
    plain = rules_named(BASELINE)
    return {
        "sizing": (
            "sizing",
            SIZINGS,
            [plain, rules_named(SEACLIFF), snapped(BASELINE), snapped(SEACLIFF)],
        ),
        "materials": ("materials", MATERIALS, [plain, rules_named(SEACLIFF), allowing()]),
        "suitability": (
            "suitability",
            SUITABILITY,
            [plain, usually(3 * IN // 2), usually(10 * IN)],
        ),
        "counted materials": ("materials", COUNTED, [plain]),
        "layout": ("layout", LAID, [plain]),
    }[calls]


@lru_cache(maxsize=8)
def findings(calls):
    """Return what all nudges show over all jobs, under each of the rule sets."""
    call, jobs, rulesets = taken(calls)
    found = Findings()
    for rules in rulesets:
        nudges = all_nudges(rules)
        near = [nudge for nudge in nudges if nudge[0].startswith(NEAR[calls])]
        for job in jobs[:1] if calls in EXACT else ():
            found.look(call, job, rules, nudges)
        for job in jobs:
            found.look(call, job, rules, near)
    return found


NEAR = {
    "sizing": ("values.",),
    "materials": ("values.", "bill.", "zones."),
    "suitability": ("values.", "tables."),
    "counted materials": ("values.", "bill.", "zones."),
    "layout": ("values.", "zones."),
}
"""Rules that can have a say in a call; one job of each is nudged by all the others as well."""

EXACT = ["sizing", "materials", "suitability"]
ALL = [*EXACT, "counted materials", "layout"]


@pytest.mark.parametrize("calls", ALL)
def test_a_figure_with_a_step_changes_only_with_the_rules_that_the_step_cites(calls):
    assert told(findings(calls).uncited) == {}


@pytest.mark.parametrize("calls", ALL)
def test_every_figure_that_a_rule_can_change_has_a_step_in_the_trace(calls):
    assert told(findings(calls).untraced) == {}


@pytest.mark.parametrize("calls", EXACT)
def test_every_citation_is_needed_for_some_job(calls):
    found = findings(calls)
    assert len(found.cited) > 5
    over = defaultdict(list)
    for figure, cite in sorted(found.cited - found.needed):
        over[figure].append(cite)
    assert dict(over) == {}
