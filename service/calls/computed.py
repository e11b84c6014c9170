"""What a call returns, and how it refuses what cannot be used."""

from __future__ import annotations

from typing import Any

import msgspec

from service.errors import BadInputError, Fault
from service.rulesets.figures import Figure


class Computed(msgspec.Struct, frozen=True, kw_only=True):
    """The result of a call, and the facts that decide which cautions go with it."""

    result: Any
    facts: dict[str, Any]

    def __post_init__(self) -> None:
        """Take figures out of the facts: assumed facts need no record any more."""
        plain = {n: f.value if isinstance(f, Figure) else f for n, f in self.facts.items()}
        msgspec.structs.force_setattr(self, "facts", plain)


def refuse(faults: list[Fault]) -> None:
    """Raise BadInputError with the faults, if there are any."""
    if faults:
        raise BadInputError(faults)
