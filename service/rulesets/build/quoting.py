"""Build what quotes assume of a job, and what the mesh is made of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.errors import Fault
from service.quantity.parse import QuantityError
from service.rulesets.build.measure import WANTED, measure
from service.rulesets.quote_entries import AssumptionEntry, MeshEntry
from service.rulesets.quoting import ASSUMED, LEAST_ASSUMED, MESH, MOST_ASSUMED
from service.rulesets.ruleset import Assumption, Mesh
from service.rulesets.values import Values
from service.strict import unknown_name

Path = tuple[str | int, ...]


def build_assumptions(
    entries: Mapping[str, AssumptionEntry], found: list[Fault]
) -> dict[str, Assumption]:
    """Return the assumptions by name; faults are added to `found`."""
    built = {}
    for name, entry in entries.items():
        path: Path = ("assumptions", name)
        if name not in ASSUMED:
            remedy = unknown_name(name, list(ASSUMED))
            found.append(Fault(path=path, problem="There is no such assumption.", remedy=remedy))
            continue
        assumption = _assumption(name, entry, path, found)
        if assumption is not None:
            built[name] = assumption
    return built


def _assumption(
    name: str, entry: AssumptionEntry, path: Path, found: list[Fault]
) -> Assumption | None:
    kind = ASSUMED[name]
    raw = {"value": entry.value, "from": entry.from_, "to": entry.to}
    read = {member: _read(kind, part, (*path, member), found) for member, part in raw.items()}
    if None in read.values():
        return None
    value, least, most = read.values()
    if least < LEAST_ASSUMED.get(name, 0):
        problem = f"{entry.from_} makes no sense here."
        remedy = f"Write at least {LEAST_ASSUMED[name]}." if kind == "count" else "Write more."
        found.append(Fault(path=(*path, "from"), problem=problem, remedy=remedy))
    if name in MOST_ASSUMED and most > MOST_ASSUMED[name]:
        problem = f"{entry.to} makes no sense here."
        found.append(Fault(path=(*path, "to"), problem=problem, remedy="Write less."))
    if not least <= value <= most:
        remedy = f"Stay within {entry.from_} to {entry.to}."
        problem = "This lies outside of its own likely range."
        found.append(Fault(path=(*path, "value"), problem=problem, remedy=remedy))
    return Assumption(
        name=name,
        kind=kind,
        value=value,
        least=least,
        most=most,
        means=entry.means,
        rule=f"assumptions.{name}",
    )


def build_mesh(
    entries: Mapping[str, MeshEntry], written: object, values: Values | None, found: list[Fault]
) -> Mesh | None:
    """Return what the mesh is made of, None where the file does not say; faults go to `found`.

    `written` is the section as it stands, in which entries at fault have not been dropped.
    """
    read: dict[str, Any] = {}
    for name, entry in entries.items():
        if name not in MESH:
            remedy = unknown_name(name, list(MESH))
            problem = "There is no such property of the mesh."
            found.append(Fault(path=("mesh", name), problem=problem, remedy=remedy))
            continue
        read[name] = _read(MESH[name], entry.value, ("mesh", name, "value"), found)
    if isinstance(written, Mapping):
        found.extend(
            Fault(path=("mesh", name), problem="This property is missing.", remedy=WANTED[kind])
            for name, kind in MESH.items()
            if name not in written
        )
    found.extend(_mesh_faults(read, values))
    if values is None or len(read) != len(MESH) or None in read.values():
        return None
    return Mesh(
        wire_nm=read["wire"],
        spacing_nm=values.mesh_opening,
        density=read["density"],
        coating=read["coating"],
    )


def _mesh_faults(read: Mapping[str, Any], values: Values | None) -> list[Fault]:
    """Return the faults of properties that can be read and make no sense."""
    faults = []
    for name in ("wire", "density"):
        if read.get(name) == 0:
            path = ("mesh", name, "value")
            problem = "Mesh without it weighs nothing."
            faults.append(Fault(path=path, problem=problem, remedy="Write more than zero."))
    if (read.get("coating") or 0) > 1:
        problem = "A coating does not weigh more than its wire."
        path = ("mesh", "coating", "value")
        faults.append(Fault(path=path, problem=problem, remedy="Write up to 100 %."))
    if values is not None and (read.get("wire") or 0) >= values.mesh_opening:
        problem = "This does not fit mesh_opening."
        remedy = "A wire is thinner than the spacing of the wires."
        faults.append(Fault(path=("mesh", "wire", "value"), problem=problem, remedy=remedy))
    return faults


def _read(kind: str, raw: object, path: Path, found: list[Fault]) -> Any:  # noqa: ANN401
    try:
        return measure(kind, raw)
    except QuantityError as error:
        found.append(Fault(path=path, problem=str(error)))
        return None
