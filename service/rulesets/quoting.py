"""The names that a rule file may use for quotes, and what the calculation takes each of them for.

These are the only lists of them: a name that does not stand here is refused when a file is loaded.
"""

from __future__ import annotations

from typing import get_args

from service.facts import Racking
from service.rulesets.measure import Measure

LEAST_CREW = 2
"""Nobody works on a roof alone."""

ASSUMED: dict[str, Measure] = {
    **{
        f"clearance_{racking}": Measure("length", "1/8 in", "36 in")
        for racking in get_args(Racking)
    },
    "module_long": Measure("length", "4 in", "20 ft"),
    "module_short": Measure("length", "4 in", "20 ft"),
    "module_gap": Measure("length", "0 in", "10 ft"),
    "rows": Measure("count", 1, 1000),
    "storeys": Measure("count", 1, 60),
    "crew": Measure("count", LEAST_CREW, 50),
    "working_day": Measure("time", "1 h", "24 h"),
}
"""What can be assumed of a job: length [nm], count, or time [min].

`rows` is the guess of a layout: in how many rows modules stand of which only the number is known.
"""

MESH: dict[str, Measure] = {
    "wire": Measure("length", "0.01 mm", "1 in"),
    "density": Measure("density", "100 kg/m³", "25000 kg/m³"),
    "coating": Measure("share", "0 %", "100 %"),
}
"""The properties of the mesh; its spacing is the value `mesh_opening`."""

TASK_TIME = Measure("time", "1 s", "1000 h")
"""The time of one person for one portion of work."""

SURCHARGE = Measure("share", "0 %", "1000 %")
"""The share of the time of all tasks that a surcharge adds."""
