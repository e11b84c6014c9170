"""The trace of a quote cannot lie: a rule nudged by a hair changes the figures that cite it only.

As in test_perturbation, for what a quote adds: assumptions, rates, surcharges and the mesh, and the
amounts that follow from them. Things in lists are known by name, so that a line that comes or goes
is one that changed. Rows of the suitability table are left to that test, for where they turn a job
unsuitable there is no quote to trace.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

import msgspec
import pytest

from service.errors import BadInputError, GapwrightError
from tests.rules.test_perturbation import HAIR_NM, bill_nudges, value_nudges
from tests.unit.calls.quotes import SITE, area, computed, drawn, job, named
from tests.unit.measures import IN

NAMES = ("task", "surcharge", "name", "change", "item", "need", "tax", "tool", "piece", "edge")
PROPORTIONAL = (
    "/bill/lines/mesh",
    "/bill/mesh_weight",
    "/bill/order/mesh",
    "/estimate",
    "/labour/tasks",
    "/labour/surcharges",
    "/labour/person_hours",
    "/labour/crew",
    "/schedule/hours_on_site",
    "/schedule/crew",
    "/schedule/working_day",
    "/price/labour",
    "/price/subtotal",
    "/price/total",
)
"""Figures that are not rounded up to whole packs or days, so that each hair must move them."""

JOBS = {
    "told": job(area("90 ft", 4), area("50 ft", 6, penetrations=2), alternatives=True),
    "on a limit": job(area("92 ft", 4), storeys=2, pitch="walkable", joining="ties"),
    "sprayed and braked": job(
        area("100 ft", 8), bending="brake", painted="spray", storeys=3, pitch="steep"
    ),
    "sparse": {**SITE, "planes": [{"arrays": [{"modules": {"count": 24}}]}]},
    "ragged": {**SITE, "planes": [{"arrays": [{"modules": {"count": 9}}]}]},
    "low": {**SITE, "planes": [{"arrays": [{"perimeter": "20 ft"}]}], "racking": "ballasted"},
    "sparser": {
        "racking": "rail_less",
        "covering": "slate",
        "planes": [{"arrays": [{"grid": {"rows": 2, "columns": 5}}, {"perimeter": "90 ft"}]}],
    },
    "partly measured": {**SITE, "planes": [{"arrays": [area("90 ft", 6), area("90 ft")]}]},
    "drawn": {**SITE, "planes": [drawn(4)], "alternatives": True},
    "drawn and not": {**SITE, "planes": [drawn(4, columns=7), {"arrays": [area("90 ft")]}]},
    "widest": job(area("90 ft", 10)),
    "lowest": job(area("90 ft", "1 1/2")),
}


def assumption_nudges(rules):
    """Yield each end of an assumption's range moved by a hair, and its value also to the ends.

    By a hair alone a clearance would hardly ever take another strip; 12 in takes none at all.
    """
    for name, one in rules.assumptions.items():
        wide = (12 * IN,) if name.startswith("clearance_") else ()
        for end in (one.least, one.most, *wide):
            moved = msgspec.structs.replace(one, value=end)
            yield (
                one.rule,
                msgspec.structs.replace(rules, assumptions={**rules.assumptions, name: moved}),
            )
        hair = {"length": HAIR_NM, "time": 60}.get(one.kind, 1)
        for part in ("value", "least", "most"):
            for way in (hair, -hair):
                moved = msgspec.structs.replace(one, **{part: max(getattr(one, part) + way, 1)})
                if not moved.least <= moved.value <= moved.most:
                    continue
                found = {**rules.assumptions, name: moved}
                yield one.rule, msgspec.structs.replace(rules, assumptions=found)


def work_nudges(rules):
    for at, task in enumerate(rules.work):
        for part in ("job", "estimated", "counted"):
            efforts = getattr(task, part)
            for place, effort in enumerate(efforts):
                for moved in (
                    msgspec.structs.replace(effort, minutes=effort.minutes + 1),
                    msgspec.structs.replace(effort, minutes=effort.minutes * Fraction(9, 10)),
                ):
                    rest = (*efforts[:place], moved, *efforts[place + 1 :])
                    other = msgspec.structs.replace(task, **{part: rest})
                    work = (*rules.work[:at], other, *rules.work[at + 1 :])
                    yield effort.rule, msgspec.structs.replace(rules, work=work)


def surcharge_nudges(rules):
    for at, one in enumerate(rules.surcharges):
        for way in (1, -1):
            moved = msgspec.structs.replace(one, share=one.share + Fraction(way, 100))
            found = (*rules.surcharges[:at], moved, *rules.surcharges[at + 1 :])
            yield one.rule, msgspec.structs.replace(rules, surcharges=found)


def mesh_nudges(rules):
    for name, member, share in (
        ("wire", "wire_nm", None),
        ("density", "density", Fraction(101, 100)),
        ("coating", "coating", Fraction(11, 10)),
    ):
        value = getattr(rules.mesh, member)
        moved = value * share if share else value + HAIR_NM
        mesh = msgspec.structs.replace(rules.mesh, **{member: moved})
        yield f"mesh.{name}", msgspec.structs.replace(rules, mesh=mesh)


@lru_cache(maxsize=1)
def nudges():
    rules = named("baseline@1.2.0")
    return [
        *assumption_nudges(rules),
        *work_nudges(rules),
        *surcharge_nudges(rules),
        *mesh_nudges(rules),
        *value_nudges(rules),
        *bill_nudges(rules),
        *spacing_nudge(rules),
    ]


def spacing_nudge(rules):
    """Yield the opening of the mesh moved where it is spaced, as a file that says so would."""
    opening = rules.values.mesh_opening + HAIR_NM
    values = msgspec.structs.replace(rules.values, mesh_opening=opening)
    mesh = msgspec.structs.replace(rules.mesh, spacing_nm=opening)
    yield "values.mesh_opening", msgspec.structs.replace(rules, values=values, mesh=mesh)


def called(thing, place):
    """Return what a thing in a list is called by, with the width of its strip where it has one."""
    if not isinstance(thing, dict):
        return str(place)
    name = next((str(thing[n]) for n in NAMES if n in thing), str(place))
    width = thing.get("strip_width")
    return f"{name} {width['text']}" if isinstance(width, dict) and "item" in thing else name


def leaves(part, at=""):
    if isinstance(part, list) and part and isinstance(part[0], dict):
        part = {called(one, place): one for place, one in enumerate(part)}
    if isinstance(part, dict) and part:
        return {p: v for name, one in part.items() for p, v in leaves(one, f"{at}/{name}").items()}
    return {at: msgspec.json.encode(part)}


class Answer:
    """The figures of one quote by name, and what the steps that tell of each of them cite."""

    def __init__(self, request, rules):
        found = computed(request, rules)
        self.result = found.result
        self.plain = msgspec.json.decode(msgspec.json.encode(found.result))
        self.figures = leaves(self.plain)
        self.steps = {}
        for step in found.trace:
            self.steps.setdefault(self.named(step.figure), set()).update(step.cites)

    def named(self, pointer):
        part, steps = self.plain, []
        for step in pointer.strip("/").split("/"):
            if isinstance(part, list):
                part = part[int(step)]
                steps.append(called(part, step))
            else:
                part = part[step]
                steps.append(step)
        return "/" + "/".join(steps)

    def telling(self, figure):
        """Return the steps round a figure, on it, or inside it."""
        return [
            step
            for step in self.steps
            if f"{figure}/".startswith(f"{step}/") or step.startswith(f"{figure}/")
        ]

    def citing(self, figure, rule):
        """Return each step that tells of a figure, with what it cites of a rule."""
        return {
            (step, cite)
            for step in self.telling(figure)
            for cite in self.steps[step]
            if covers(cite, rule) or covers(rule, cite)
        }


def changed(before, after):
    both = before.figures.keys() | after.figures.keys()
    return [name for name in both if before.figures.get(name) != after.figures.get(name)]


def covers(cited, rule):
    return cited == rule or rule.startswith(f"{cited}.")


@lru_cache(maxsize=len(JOBS))
def findings(name):
    """Return for a job: figures that changed unseen, and the citations that were needed."""
    request, rules = JOBS[name], named("baseline@1.2.0")
    before = Answer(request, rules)
    wrong, needed = {}, set()
    for rule, nudged in nudges():
        try:
            after = Answer(request, nudged)
        except (BadInputError, GapwrightError):
            continue  # the nudged rules do not answer this job at all
        if after.plain["price"] is None and "unsuitable" in (after.plain["no_price"] or ""):
            continue
        for figure in changed(before, after):
            seen = before.citing(figure, rule) | after.citing(figure, rule)
            needed |= seen
            if not seen:
                wrong.setdefault(rule, set()).add(figure)
    cited = {(step, cite) for step, cites in before.steps.items() for cite in cites}
    return wrong, cited, needed


@pytest.mark.parametrize("name", JOBS)
def test_whatever_figure_a_rule_changes_has_a_step_that_cites_the_rule(name):
    wrong, cited, _ = findings(name)
    assert len(cited) > 50
    assert {rule: sorted(figures) for rule, figures in sorted(wrong.items())} == {}


NUDGED = ("assumptions.", "work.", "surcharges.", "mesh.")


def test_what_cites_an_assumption_a_rate_a_surcharge_or_the_mesh_changes_with_it():
    """Over all jobs together: none of these is cited where it can change nothing."""
    over, looked = set(), 0
    for name in JOBS:
        _, cited, _ = findings(name)
        looked += len(cited)
        over |= {(s, c) for s, c in cited if c.startswith(NUDGED) and s.startswith(PROPORTIONAL)}
    for name in JOBS:
        over -= findings(name)[2]
    assert looked > 500
    assert sorted(over) == []
