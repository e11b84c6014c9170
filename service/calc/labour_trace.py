"""The trace of labour: which rates, surcharges and assumptions each figure follows from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.calc.trace import Step
from service.calc.work import Added, WorkLine


def labour_trace(
    lines: tuple[WorkLine, ...],
    added: tuple[Added, ...],
    assumed: tuple[tuple[str, str], ...],
) -> tuple[Step, ...]:
    """Return a step for each figure; `assumed` names what was not told, with its rule."""
    return tuple(_steps(lines, added, assumed))


def _steps(
    lines: tuple[WorkLine, ...],
    added: tuple[Added, ...],
    assumed: tuple[tuple[str, str], ...],
) -> Iterator[Step]:
    """Yield a step for each figure, as pointers into the `labour` of an answer."""
    follows: dict[str, tuple[str, ...]] = {"mesh_length": ("values.mesh_allowance",)}
    for driver, rule in assumed:
        follows[driver] = (*follows.get(driver, ()), rule)
    storeys = follows.get("storeys", ())
    tasks: dict[str, None] = {}
    for at, line in enumerate(lines):
        cites = _unique(
            rule for part in line.parts for rule in (part.rule, *follows.get(part.driver, ()))
        )
        tasks.update(dict.fromkeys(cites))
        yield Step(f"/labour/tasks/{at}", cites)
    for at, one in enumerate(added):
        asked = storeys if any(fact == "storeys" for fact, _ in one.surcharge.when) else ()
        yield Step(f"/labour/surcharges/{at}", _unique((one.surcharge.rule, *tasks, *asked)))
    person = _unique((*tasks, *(one.surcharge.rule for one in added), *storeys))
    crew = _unique((*person, *follows.get("crew", ())))
    day = follows.get("working_day", ())
    yield Step("/labour/person_hours", person)
    yield Step("/labour/crew_hours", crew)
    yield Step("/labour/days", _unique((*crew, *day)))
    if "crew" in follows:
        yield Step("/labour/crew", follows["crew"])


def _unique(rules: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(rules))
