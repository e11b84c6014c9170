"""The names that a rule file may use for quotes, and what the calculation takes each of them for.

These are the only lists of them: a name that does not stand here is refused when a file is loaded.
"""

from __future__ import annotations

from typing import get_args

from service.facts import Racking

ASSUMED: dict[str, str] = {
    **{f"clearance_{racking}": "length" for racking in get_args(Racking)},
    "module_long": "length",
    "module_short": "length",
    "module_gap": "length",
    "rows": "count",
    "storeys": "count",
    "crew": "count",
    "working_day": "time",
}
"""What can be assumed of a job, and its kind: length [nm], count, or time [min].

`rows` is the guess of a layout: in how many rows modules stand of which only the number is known.
"""

MESH: dict[str, str] = {"wire": "length", "density": "density", "coating": "share"}
"""The properties of the mesh, and their kinds; its spacing is the value `mesh_opening`."""

LEAST_CREW = 2
"""Nobody works on a roof alone."""

LEAST_ASSUMED: dict[str, int] = {
    **{name: 1 for name in ASSUMED if name != "module_gap"},
    "crew": LEAST_CREW,
}
"""What an assumption of sense is at least, in its base unit."""

MOST_ASSUMED: dict[str, int] = {"working_day": 24 * 60}
"""What an assumption of sense is at most, in its base unit."""
