"""What the builds of all kinds of file share: judge the rest, and check what is cited."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.strict import unknown_name


def without(tree: Mapping[str, Any], found: list[Fault]) -> dict[str, Any]:
    """Return plain data without the entries at fault, so that the others are judged as well."""
    pruned = {name: dict(part) if isinstance(part, dict) else part for name, part in tree.items()}
    for fault in found:
        _prune(pruned, fault.path[:2])
    return pruned


def check_source(
    known: list[str], source: str, path: tuple[str | int, ...], found: list[Fault]
) -> None:
    """Note a fault where a source is cited that is not there."""
    if source not in known:
        problem = f"There is no source {source}."
        remedy = unknown_name(source, known)
        found.append(Fault(path=path, problem=problem, remedy=remedy))


def _prune(tree: Any, path: tuple[str | int, ...]) -> None:  # noqa: ANN401
    for step in path[:-1]:
        tree = tree.get(step) if isinstance(tree, dict) else None
    if isinstance(tree, dict) and path:
        tree.pop(path[-1], None)
