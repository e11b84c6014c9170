"""What a rule set says for quotes is neither stricter nor looser, and can be moved by a hair."""

from __future__ import annotations

import copy
from fractions import Fraction
from types import SimpleNamespace

import msgspec
import pytest
from gapwright.publishing.changes import changes, loosens
from gapwright.publishing.mutants import mutants
from gapwright.rulesets.overlay import OPTIONAL
from gapwright.rulesets.shelf import Shelf

from tests.history import RULES as HISTORY
from tests.unit.publishing.test_changes import made

SHELF = Shelf(HISTORY)
SAID = {"description": "m", "source": "from-memory"}
CREW = {"value": 2, "low": 2, "high": 3, **SAID}
FIT = {"driver": "perimeter", "one_per": "10 ft", "time": "20 min"}
TABS = {"driver": "tabs", "time": "4 min"}
SECTIONS = {
    "assumptions": {"crew": CREW},
    "work": {
        "fit": {"estimate": {"a": FIT}, "count": {"b": TABS}, "when": {"bending": "hand"}, **SAID}
    },
    "labor_factors": {"steep": {"share": "25 %", "when": {"pitch": "steep"}, **SAID}},
    "mesh": {
        "wire": {"value": "1.6 mm", **SAID},
        "density": {"value": "7850 kg/m³", **SAID},
        "coating": {"value": "8 %", **SAID},
    },
}


def quoting(**edits):
    """Return the house rule set with the sections, and entries at dotted paths changed."""
    return made(
        {**copy.deepcopy(SECTIONS), **{path.replace("__", "."): new for path, new in edits.items()}}
    )


def baseline(version):
    return SHELF.load(SHELF.ledger["baseline"][version])


def asked_for(rules):
    """Return the rule set as if it had an example that asks for a quote."""
    return msgspec.structs.replace(rules, examples={"q": SimpleNamespace(call="quote")})


@pytest.mark.parametrize(
    ("path", "new", "affects", "classification"),
    [
        ("assumptions.crew.value", 3, "assumptions", "neutral"),
        ("assumptions.crew.high", 4, "assumptions", "neutral"),
        ("assumptions.crew.description", "other", "assumptions", "wording"),
        ("work.fit.estimate.a.time", "10 min", "labor", "neutral"),
        ("work.fit.estimate.a.time", "1/3 h", "labor", "wording"),
        ("work.fit.description", "other", "labor", "wording"),
        ("work.own", {"job": {"a": {"driver": "job", "time": "1 h"}}, **SAID}, "labor", "neutral"),
        ("labor_factors.steep.share", "20 %", "labor", "neutral"),
        ("labor_factors.steep.when", {}, "labor", "neutral"),
        ("labor_factors.steep.description", "other", "labor", "wording"),
        ("mesh.wire.value", "1.5 mm", "weight", "neutral"),
        ("mesh.wire.value", "0.16 cm", "weight", "wording"),
        ("mesh.density.value", "490 lb/ft³", "weight", "neutral"),
        ("mesh.coating.description", "other", "weight", "wording"),
    ],
)
def test_a_change_is_neutral_or_wording_and_tells_what_it_affects(
    path, new, affects, classification
):
    (change,) = changes(quoting(), quoting(**{path: new}))
    assert (change.affects, change.classification) == (affects, classification)
    assert path.startswith(change.entry)


def test_sections_that_are_new_or_gone_are_told_entry_by_entry_and_loosen_nothing():
    before, after = baseline("1.1.0"), baseline("1.2.0")
    found = changes(before, after)
    told = {change.entry for change in found}
    examples = {f"examples.{name}" for name in after.examples.keys() - before.examples.keys()}
    assert examples
    assert told == {f"{s}.{n}" for s in OPTIONAL for n in after.content[s]} | examples
    classification = {change.entry: change.classification for change in found}
    assert {classification.pop(entry) for entry in examples} == {"wording"}
    assert set(classification.values()) == {"neutral"}
    assert loosens(before, after) == loosens(after, before) == []


def test_seacliff_moves_to_the_newer_baseline_and_loosens_nothing():
    before, after = (SHELF.load(SHELF.ledger["seacliff"][v]) for v in ("1.0.0", "1.1.0"))
    assert loosens(before, after) == []
    assert after.assumptions["crew"].value == 2
    assert after.assumptions["clearance_rail_mounted"].value == 115_000_000


def quoting_mutants(rules):
    return [mutant for mutant in mutants(asked_for(rules)) if mutant.path[0] in OPTIONAL]


def test_every_figure_is_moved_by_a_hair_once_and_nothing_else():
    rules = quoting()
    moved = quoting_mutants(rules)
    assert [".".join(mutant.path) for mutant in moved] == [
        "assumptions.crew",
        *("work.fit", "work.fit.when", "work.fit.estimate.a.time", "work.fit.count.b.time"),
        *("labor_factors.steep.share", "labor_factors.steep.when"),
        *("mesh.wire", "mesh.density", "mesh.coating"),
    ]
    for mutant in moved:
        assert mutant.changed
        (differs,) = [
            section
            for section in OPTIONAL
            if getattr(mutant.rules, section) != getattr(rules, section)
        ]
        assert differs == mutant.path[0]


def test_a_rate_moves_by_a_minute_and_a_labor_factor_by_a_hundredth():
    told = {mutant.changed: mutant.rules for mutant in quoting_mutants(quoting())}
    assert told["fit.estimate.a.time is a minute more"].work[0].estimated[0].minutes == 21
    assert told["fit.count.b.time is a minute more"].work[0].counted[0].minutes == 5
    assert told["fit is left out"].work == ()
    assert told["fit.when always applies"].work[0].when == ()
    more = told["steep.share is a percentage point more"]
    assert more.labor_factors[0].share == Fraction(26, 100)


def test_a_layout_that_counts_as_the_estimate_is_not_moved_apart_from_it():
    rules = quoting(work__fit__count={})
    told = [m.changed for m in quoting_mutants(rules) if m.path[0] == "work"]
    assert told == [
        "fit is left out",
        "fit.when always applies",
        "fit.estimate.a.time is a minute more",
    ]


def test_limits_for_quotes_are_demanded_once_an_example_asks_for_a_quote():
    assert not {mutant.path[0] for mutant in mutants(quoting())} & set(OPTIONAL)
    assert {mutant.path[0] for mutant in mutants(asked_for(quoting()))} >= set(OPTIONAL)
