"""What a call comes to, and how it refuses what cannot be used."""

from __future__ import annotations

from typing import Any

import msgspec

from service.calc.trace import Step
from service.canonical import canonical_result
from service.errors import BadInputError, Fault


class Computed(msgspec.Struct, frozen=True, kw_only=True):
    """What a call comes to: the result in its wire form, the facts for cautions, and the trace."""

    result: Any
    facts: dict[str, Any]
    trace: tuple[Step, ...]

    def canonical(self) -> bytes:
        """Return the result as canonical JSON."""
        return canonical_result(self.result)


def refuse(faults: list[Fault]) -> None:
    """Raise BadInputError with the faults, if there are any."""
    if faults:
        raise BadInputError(faults)
