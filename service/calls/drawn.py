"""The drawn planes of a quote, laid out with their strips as the layout call does it."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.calc.layout.strips import Readings, Strips, takes_usual
from service.calc.quote import LaidArea
from service.calls.array_forms import ArraysForm, Facing, FacingForm, PlaneForm
from service.calls.job_names import plane_names
from service.calls.laying import Planes, lay_planes
from service.calls.quote_forms import QuoteForm, QuotePlaneForm
from service.errors import BadInputError, Fault
from service.facts import Clearance
from service.rulesets.figures import Figure
from service.rulesets.ruleset import RuleSet

_FACINGS: tuple[Facing, ...] = ("eave", "ridge", "left", "right")


class Drawn(msgspec.Struct, frozen=True, kw_only=True):
    """The drawn planes of a job.

    `guessed` are the positions of those with an edge that nobody has measured; where all edges of
    the job are open, the one strip is sized by a guess all the same.
    """

    areas: tuple[LaidArea, ...]
    planes: Planes
    guessed: tuple[int, ...]

    @property
    def strips(self) -> Strips | None:
        """Return the strips that go round the planes."""
        return self.planes.strips

    def guessing(self, nm: int, rules: RuleSet) -> Drawn:
        """Return the planes with another clearance [nm] where nobody has measured."""
        if not self.guessed:
            return self
        planes = self.planes.with_usual(Figure((nm,)), rules)
        areas = (
            LaidArea(name=area.name, plane=plane)
            for area, plane in zip(self.areas, planes.planes, strict=True)
        )
        return Drawn(areas=tuple(areas), planes=planes, guessed=self.guessed)

    def readings(self) -> Iterator[Readings]:
        """Yield the readings that hold on some edge [nm], those of the whole job left out."""
        for strip in self.strips.strips if self.strips else ():
            yield from (told.readings_nm for told in strip.told if told.plane)


def draw(form: QuoteForm, rules: RuleSet, faults: list[Fault]) -> Drawn | None:
    """Return the planes that are drawn, laid out; None where none is. Faults are added.

    The clearance of a plane holds on those of its edges that have no readings of their own, that
    of the job where a plane has none, and what the rule set assumes where the job has none.
    """
    drawn = [at for at, plane in enumerate(form.planes) if plane.array is not None]
    if not drawn:
        return None
    names = [plane_names(form)[at] for at in drawn]
    planes = [_plane(form.planes[at], name) for at, name in zip(drawn, names, strict=True)]
    try:
        arrays = ArraysForm(planes=tuple(planes))
        laid = lay_planes(arrays, _usual(form, rules), rules, form.units or rules.units)
    except BadInputError as error:
        faults += [_placed(fault, drawn) for fault in error.faults]
        return None
    both = list(zip(drawn, laid.planes, strict=True))
    unmeasured = [at for at, one in both if takes_usual(one.plane, one.outline)]
    if not any(edge.strip for plane in laid.planes for edge in plane.edges):
        unmeasured = drawn
    return Drawn(
        areas=tuple(LaidArea(name=n, plane=p) for n, p in zip(names, laid.planes, strict=True)),
        planes=laid,
        guessed=() if form.clearance else tuple(unmeasured),
    )


def _usual(form: QuoteForm, rules: RuleSet) -> Figure[Readings]:
    """Return the readings of the whole job [nm], or the clearance assumed where there are none.

    Where the rule set does not assume one, it is asked for, and any clearance does until then.
    """
    if form.clearance:
        return Figure(tuple(map(int, form.clearance.readings)))
    assumption = rules.assumptions.get(f"clearance_{form.racking}")
    if assumption is None:
        return rules.figure(lambda: (rules.values.usual_clearance,))
    return rules.figure(lambda: (int(assumption.value),))


def _plane(form: QuotePlaneForm, name: str) -> PlaneForm:
    assert form.array is not None
    return PlaneForm(
        array=form.array,
        name=name,
        rails=form.rails,
        penetrations=form.penetrations,
        edges=form.edges,
        facings=_facings(form.facings, form.clearance) if form.clearance else form.facings,
    )


def _facings(told: tuple[FacingForm, ...], clearance: Clearance) -> tuple[FacingForm, ...]:
    """Return what holds on the facings, with the plane's clearance where they have none."""
    own = {form.facing: form for form in told}
    forms = (own.get(facing, FacingForm(facing=facing)) for facing in _FACINGS)
    return tuple(
        form if form.clearance else msgspec.structs.replace(form, clearance=clearance)
        for form in forms
    )


def _placed(fault: Fault, drawn: list[int]) -> Fault:
    """Return a fault of the drawn planes with the position that its plane has in the request."""
    steps = fault.path
    if steps[:1] == ("planes",) and len(steps) > 1:
        steps = ("planes", drawn[int(steps[1])], *steps[2:])
    return Fault(path=steps, problem=fault.problem, remedy=fault.remedy)
