"""How an entry for quotes changed, and the rule sets in which one of them is moved by a hair.

Hours, assumptions and weights make nothing stricter or looser: they are neutral, or only worded
otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import msgspec

from service.publishing.mutant import HAIR_NM, Mutant
from service.publishing.strictness import Classed
from service.rulesets.ruleset import Assumption, Effort, Mesh, RuleSet, Surcharge, Task

Moved = tuple[tuple[str, ...], str, RuleSet]
"""Where something was changed, what as words, and the rule set that it makes."""


def quoting_class(section: str, name: str, before: RuleSet, after: RuleSet) -> Classed:
    """Return how an entry of a section for quotes changed."""
    old, new = (_figures(section, name, rules) for rules in (before, after))
    return "wording" if old == new else "neutral"


def asked(rules: RuleSet) -> bool:
    """Return whether the rule set has examples that ask for a quote.

    Until it has, no example can notice what these sections say, so none of it is demanded: versions
    were published before quotes could be asked for, and stay sound.
    """
    return any(example.call == "quote" for example in rules.examples.values())


def quoting_mutants(rules: RuleSet) -> Iterator[Mutant]:
    """Yield the rule set with each assumption, rate, surcharge and mesh property moved a little."""
    for path, changed, other in _moves(rules):
        entry = ".".join(path)
        touches: tuple[str, ...] = (entry, f"{entry}.")
        if changed.endswith("always"):  # where it did not hold, it was not cited
            touches = (*touches, "work.")
        yield Mutant(
            path=path,
            changed=changed,
            touches=touches,
            make=lambda made=other: made,  # type: ignore[misc]
        )


def _moves(rules: RuleSet) -> Iterator[Moved]:
    for name, assumption in rules.assumptions.items():
        moved = {**rules.assumptions, name: _more(assumption)}
        other = msgspec.structs.replace(rules, assumptions=moved)
        yield ("assumptions", name), f"{name} is assumed a hair more", other
    for at, task in enumerate(rules.work):
        for changed, tasks in _task_moves(task):
            work = (*rules.work[:at], *tasks, *rules.work[at + 1 :])
            yield ("work", task.id), changed, msgspec.structs.replace(rules, work=work)
    for at, surcharge in enumerate(rules.surcharges):
        for changed, ones in _surcharge_moves(surcharge):
            found = (*rules.surcharges[:at], *ones, *rules.surcharges[at + 1 :])
            other = msgspec.structs.replace(rules, surcharges=found)
            yield ("surcharges", surcharge.id), changed, other
    if rules.mesh is not None:
        for member, mesh in _mesh_moves(rules.mesh):
            other = msgspec.structs.replace(rules, mesh=mesh)
            yield ("mesh", member), f"{member} of the mesh is a hair more", other


def _figures(section: str, name: str, rules: RuleSet) -> Any:  # noqa: ANN401 - any entry
    """Return what is reckoned with of an entry, without its words; None where it is not there."""
    if section == "mesh":
        mesh = None if rules.mesh is None else msgspec.structs.asdict(rules.mesh)
        return None if mesh is None else mesh["wire_nm" if name == "wire" else name]
    if section == "assumptions":
        return _unworded(rules.assumptions.get(name))
    entries: tuple[Task | Surcharge, ...] = rules.work if section == "work" else rules.surcharges
    return _unworded(next((entry for entry in entries if entry.id == name), None))


def _unworded(entry: Assumption | Task | Surcharge | None) -> Any:  # noqa: ANN401
    return None if entry is None else msgspec.structs.replace(entry, means="")


def _more(assumption: Assumption) -> Assumption:
    hair = HAIR_NM if assumption.kind == "length" else 1
    return msgspec.structs.replace(assumption, value=assumption.value + hair)


def _task_moves(task: Task) -> Iterator[tuple[str, tuple[Task, ...]]]:
    yield f"{task.id} is left out", ()
    if task.when:
        yield f"{task.id} is done always", (msgspec.structs.replace(task, when=()),)
    for part in ("job", "estimated", "counted"):
        efforts: tuple[Effort, ...] = getattr(task, part)
        if part == "counted" and task.counted is task.estimated:
            continue
        for at, effort in enumerate(efforts):
            longer = msgspec.structs.replace(effort, minutes=effort.minutes + 1)
            moved = (*efforts[:at], longer, *efforts[at + 1 :])
            told = f"{effort.id} of {task.id} takes a minute more"
            yield told, (msgspec.structs.replace(task, **{part: moved}),)


def _surcharge_moves(one: Surcharge) -> Iterator[tuple[str, tuple[Surcharge, ...]]]:
    more = msgspec.structs.replace(one, share=one.share + Fraction(1, 100))
    yield f"the surcharge {one.id} is more", (more,)
    if one.when:
        yield f"the surcharge {one.id} is taken always", (msgspec.structs.replace(one, when=()),)


def _mesh_moves(mesh: Mesh) -> Iterator[tuple[str, Mesh]]:
    yield "wire", msgspec.structs.replace(mesh, wire_nm=mesh.wire_nm + HAIR_NM)
    yield "density", msgspec.structs.replace(mesh, density=mesh.density * Fraction(101, 100))
    yield "coating", msgspec.structs.replace(mesh, coating=mesh.coating + Fraction(1, 100))
