"""What the schemas of the contract say of a value, and which members of a request go together."""

from __future__ import annotations

import copy
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker

from tests.contract.ask import CONTRACT
from tests.contract.sound import with_constraints

_WHOLE = copy.deepcopy(CONTRACT)
with_constraints(_WHOLE)


def faults(value: Any, schema: dict[str, Any]) -> list[str]:
    """Return what keeps a value from a schema of the contract; unknown members count too."""
    closed = close(copy.deepcopy({**schema, "components": _WHOLE["components"]}))
    validator = Draft202012Validator(closed, format_checker=FormatChecker(["date"]))
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(value)]


def close(schema: Any) -> Any:
    """Let every object schema refuse the members that it does not name."""
    if isinstance(schema, list):
        return [close(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    schema = {name: close(value) for name, value in schema.items()}
    if schema.get("type") == "object" and "properties" in schema and "oneOf" not in schema:
        schema.setdefault("additionalProperties", False)
    return schema
