"""The names that conditions, bill lines, and tables of a rule file can use."""

from __future__ import annotations

from typing import Literal, get_args

import msgspec

from gapwright.facts import (
    SITE_FLAGS,
    Attachment,
    Bending,
    Covering,
    Joining,
    Painted,
    Pitch,
    Racking,
    Stories,
)
from gapwright.rulesets.measure import Measure

CHOICES: dict[str, tuple[str, ...]] = {
    "roof_covering": get_args(Covering),
    "racking": get_args(Racking),
    "attachment": get_args(Attachment),
    "joining": get_args(Joining),
    "finish": get_args(Painted),
    "bending": get_args(Bending),
    "pitch": get_args(Pitch),
    "stories": get_args(Stories),
}
"""Facts with a fixed set of answers."""

FLAGS: tuple[str, ...] = (*SITE_FLAGS, "measured")
"""Facts that are true or false."""

LENGTHS: tuple[str, ...] = ("clearance",)
"""Facts that are a length [nm]."""

DRIVERS: dict[str, Literal["length", "count"]] = {
    "perimeter": "length",
    "mesh_length": "length",
    "corners": "count",
    "penetrations": "count",
}
"""The drivers of bill lines in a quick estimate: lengths [nm] and counts."""

COUNTED_DRIVERS: dict[str, Literal["length", "count"]] = {
    **DRIVERS,
    "cut_mesh": "length",
    "pieces": "count",
    "overlaps": "count",
    "overlap_rings": "count",
    "overlap_ties": "count",
    "tabs": "count",
    "returns": "count",
    "clips": "count",
}
"""The drivers of bill lines with a layout."""

JOB_DRIVERS: dict[str, Literal["length", "count"]] = {
    "job": "count",
    "planes": "count",
    "arrays": "count",
}
"""The drivers of the work for a whole job. `job` is always 1."""

Severity = Literal["danger", "warning", "caution", "notice"]
"""Signal words, from the most to the least severe."""

VERDICTS = ("unsuitable", "survey", "conditional", "suitable")
"""Verdicts from the most to the least severe."""


class TableShape(msgspec.Struct, frozen=True, kw_only=True):
    """The inputs and outputs of a decision table in a rule file."""

    inputs: tuple[str, ...]
    outputs: dict[str, tuple[str, ...]]
    """The allowed words of each output; if empty, any text."""
    hit_policies: tuple[str, ...]
    ranked: str
    """The output that PRIORITY ranks, in the order of its words."""
    optional: tuple[str, ...] = ()


TABLES: dict[str, TableShape] = {
    "suitability": TableShape(
        inputs=("roof_covering", "racking", "clearance", *FLAGS),
        outputs={"verdict": VERDICTS, "text": (), "remedy": (), "price": ("given", "withheld")},
        hit_policies=("COLLECT",),
        ranked="verdict",
        optional=("remedy", "price"),
    ),
    "attachment": TableShape(
        inputs=("roof_covering", "racking"),
        outputs={
            "attachment": get_args(Attachment),
            "shape": ("C", "L", "C or L", "undecided"),
            "note": (),
        },
        hit_policies=("UNIQUE", "FIRST", "PRIORITY"),
        ranked="attachment",
        optional=("note",),
    ),
}

LEAST_CREW = 2
"""Nobody works on a roof alone."""

ASSUMED: dict[str, Measure] = {
    **{
        f"clearance_{racking}": Measure("length", "1/8 in", "36 in")
        for racking in CHOICES["racking"]
    },
    "module_long": Measure("length", "4 in", "20 ft"),
    "module_short": Measure("length", "4 in", "20 ft"),
    "module_gap": Measure("length", "0 in", "10 ft"),
    "rows": Measure("count", 1, 1000),
    "stories": Measure("count", 1, 60),
    "crew": Measure("count", LEAST_CREW, 50),
    "working_day": Measure("time", "1 h", "24 h"),
}
"""What can be assumed about a job: length [nm], count, or time [min].

`rows` is the number of rows when only the number of modules is known.
"""

MESH: dict[str, Measure] = {
    "wire": Measure("length", "0.01 mm", "1 in"),
    "density": Measure("density", "100 kg/m³", "25000 kg/m³"),
    "coating": Measure("share", "0 %", "100 %"),
}
"""The properties of the mesh. The wire spacing is the value `mesh_opening`."""

TASK_TIME = Measure("time", "1 s", "1000 h")
"""The time that one person needs for one portion of work."""

LABOR_FACTOR = Measure("share", "0 %", "1000 %")
"""The share of the time of all tasks that a labor factor adds."""

SPARE = Measure("share", "0 %", "1000 %")
"""The share bought in addition to what a line needs."""

PORTIONS = {
    "length": Measure("length", "1/16 in", "20000 ft"),
    "count": Measure("count", 1, 1_000_000),
}
"""The amount of a driver per portion of an item or of work."""

PACKS = {
    "length": Measure("length", "1 in", "20000 ft"),
    "count": Measure("count", 1, 1_000_000),
}
"""The content of a pack: a length of mesh, or a count of any other item."""
