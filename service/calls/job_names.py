"""What the arrays of a job are called in its quote: no two of them alike."""

from __future__ import annotations

from collections.abc import Iterable

from service.calls.quote_forms import QuoteForm, QuotePlaneForm


def plane_names(form: QuoteForm) -> tuple[str, ...]:
    """Return the name of each roof plane."""
    return _unlike(plane.name or f"plane {at}" for at, plane in enumerate(form.planes, 1))


def area_names(form: QuoteForm) -> dict[tuple[int, int], str]:
    """Return the name of each array that is not drawn, by the positions of its plane and itself.

    A plane that is drawn keeps its name, and no other array takes it.
    """
    planes = plane_names(form)
    drawn = [planes[at] for at, plane in enumerate(form.planes) if plane.array is not None]
    named = {
        (at, number): f"{planes[at]} {_own_name(plane, number)}".strip()
        for at, plane in enumerate(form.planes)
        for number in range(len(plane.arrays))
    }
    unlike = _unlike([*drawn, *named.values()])[len(drawn) :]
    return dict(zip(named, unlike, strict=True))


def _own_name(plane: QuotePlaneForm, number: int) -> str:
    alone = len(plane.arrays) == 1
    return plane.arrays[number].name or ("" if alone else f"array {number + 1}")


def _unlike(names: Iterable[str]) -> tuple[str, ...]:
    """Return the names, with a number after each that stood before."""
    taken: dict[str, None] = {}
    for name in names:
        number, unlike = 2, name
        while unlike in taken:
            unlike = f"{name} ({number})"
            number += 1
        taken[unlike] = None
    return tuple(taken)
