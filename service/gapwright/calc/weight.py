"""The weight of mesh, by counting its wires.

A strip has wires along it and wires across it, both at the spacing of the mesh, with one on its
first edge; a length that is no multiple of the spacing has as many as fit. The coating is a share
of the bare weight.
Limits: square spacing, one wire for both ways, no allowance for welds or for wire ends that stick
out. Source: the count that tables of welded wire fabric rest on; checked in tests/outside.
"""

from __future__ import annotations

from math import pi

import msgspec

from gapwright.rulesets.ruleset import Mesh

_NM3_PER_M3 = 10**27


class StripWeight(msgspec.Struct, frozen=True, kw_only=True):
    """The weight of a strip of mesh [g], bare and coated, and the wires that it was counted by."""

    line_wires: int
    cross_wires: int
    wire_length_nm: int
    bare_g: float
    weight_g: float


def weigh_strip(width_nm: int, length_nm: int, mesh: Mesh) -> StripWeight:
    """Return the weight of a flat strip of mesh, `width_nm` across and `length_nm` along."""
    lines = width_nm // mesh.spacing_nm + 1
    crosses = length_nm // mesh.spacing_nm + 1
    wire = lines * length_nm + crosses * width_nm
    bare = pi / 4 * mesh.wire_nm**2 * wire / _NM3_PER_M3 * float(mesh.density)
    return StripWeight(
        line_wires=lines,
        cross_wires=crosses,
        wire_length_nm=wire,
        bare_g=bare,
        weight_g=bare * float(1 + mesh.coating),
    )


def opening_nm(mesh: Mesh) -> int:
    """Return the clear width between two wires [nm]."""
    return mesh.spacing_nm - mesh.wire_nm


def open_share(mesh: Mesh) -> float:
    """Return the open part of the mesh's area."""
    return (opening_nm(mesh) / mesh.spacing_nm) ** 2
