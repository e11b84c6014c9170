"""Names that are not known, and names that are used twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from difflib import get_close_matches

from service.errors import Fault
from service.rulesets.tables.words import join


def unknown(path: tuple[str, ...], kind: str, name: str, known: Iterable[str]) -> Fault:
    """Return the fault of a name that is not known, with the nearest that is."""
    names = list(known)
    near = get_close_matches(name, names, n=1)
    remedy = f"Did you mean {near[0]!r}?" if near else f"Known: {join(names, 'and') or 'none'}."
    return Fault(path=path, problem=f"There is no {kind} {name!r}.", remedy=remedy)


def repeated(names: Iterable[str]) -> list[str]:
    """Return the names that occur more than once, each once."""
    return [name for name, times in Counter(names).items() if times > 1]
