"""Results as a caller receives them."""

from __future__ import annotations

import json
from typing import Any

from gapwright.quantity.output import encode
from gapwright.quantity.show import System


class Answer(dict[str, Any]):
    """A JSON object whose members can also be read as attributes."""

    def __getattr__(self, name: str) -> Any:
        try:
            return self[name.rstrip("_")]
        except KeyError:
            raise AttributeError(name) from None


def as_sent(result: object, system: System = "imperial") -> Any:
    """Return a result as the JSON that an answer has, in the units of `system`."""
    return json.loads(encode(result, system), object_hook=Answer)
