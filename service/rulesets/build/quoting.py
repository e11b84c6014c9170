"""Build what quotes assume of a job, and what the mesh is made of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.rulesets.build.values import check_missing, check_names
from service.rulesets.measure import Faults, Path
from service.rulesets.quoting import ASSUMED, MESH
from service.rulesets.ruleset import Assumption, Mesh
from service.rulesets.schema import AssumptionEntry, MeshEntry
from service.rulesets.values import Values


def build_assumptions(
    entries: Mapping[str, AssumptionEntry], faults: Faults
) -> dict[str, Assumption]:
    """Return the assumptions by name."""
    built = {}
    problem = "There is no such assumption."
    for name in check_names("assumptions", entries, ASSUMED, problem, faults):
        assumption = _assumption(name, entries[name], ("assumptions", name), faults)
        if assumption is not None:
            built[name] = assumption
    return built


def _assumption(name: str, entry: AssumptionEntry, path: Path, faults: Faults) -> Assumption | None:
    assumed = ASSUMED[name]
    raw = {"value": entry.value, "from": entry.from_, "to": entry.to}
    read = {
        member: faults.read((*path, member), lambda p=part: assumed.read(p), None)
        for member, part in raw.items()
    }
    if None in read.values():
        return None
    value, least, most = read.values()
    if not least <= value <= most:
        remedy = f"Stay within {entry.from_} to {entry.to}."
        faults.add((*path, "value"), "This lies outside of its own likely range.", remedy)
    return Assumption(
        name=name,
        kind=assumed.kind,
        value=value,
        least=least,
        most=most,
        means=entry.means,
        rule=f"assumptions.{name}",
    )


def build_mesh(
    entries: Mapping[str, MeshEntry], written: object, values: Values | None, faults: Faults
) -> Mesh | None:
    """Return what the mesh is made of, None where the file does not say.

    `written` is the section as it stands, in which entries at fault have not been dropped.
    """
    problem = "There is no such property of the mesh."
    read: dict[str, Any] = {
        name: faults.read(
            ("mesh", name, "value"), lambda n=name: MESH[n].read(entries[n].value), None
        )
        for name in check_names("mesh", entries, MESH, problem, faults)
    }
    if isinstance(written, Mapping):
        check_missing("mesh", written, MESH, tuple(MESH), "This property is missing.", faults)
    if values is None or len(read) != len(MESH) or None in read.values():
        return None
    if read["wire"] >= values.mesh_opening:
        remedy = "A wire is thinner than the spacing of the wires."
        faults.add(("mesh", "wire", "value"), "This does not fit mesh_opening.", remedy)
    return Mesh(
        wire_nm=read["wire"],
        spacing_nm=values.mesh_opening,
        density=read["density"],
        coating=read["coating"],
    )
