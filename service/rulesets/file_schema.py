"""The JSON Schema of rule files, from which editors complete and check."""

from __future__ import annotations

from typing import Any

import msgspec

from service.rulesets.schema import OverlayFile, RuleFile
from service.rulesets.values import STRICTER, kinds
from service.rulesets.vocabulary import CHOICES, DRIVERS, LENGTHS, TABLES, TableShape

_REF = "#/$defs/{name}"
_WRITTEN = {
    "length": {"type": "string", "examples": ["6 in", "4 1/2 in", "150 mm"]},
    "lengths": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "share": {"type": "string", "examples": ["20 %"]},
    "angle": {"type": "string", "examples": ["70 deg"]},
    "count": {"type": "integer", "minimum": 0},
    "flag": {"type": "boolean"},
}
_SPOKEN = {"more": "More is stricter.", "less": "Less is stricter.", "": ""}


def file_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a rule file: a whole one, or one based on another."""
    refs, defs = msgspec.json.schema_components([RuleFile, OverlayFile], ref_template=_REF)
    del refs
    for name, entry in (("RuleFile", "ValueEntry"), ("OverlayFile", "ValueChange")):
        defs[name]["properties"]["values"] = _values(entry)
    defs["RuleFile"]["properties"]["values"]["required"] = list(kinds())
    for name, entry in (("RuleFile", "TableEntry"), ("OverlayFile", "TableChange")):
        defs[name]["properties"]["tables"] = _tables(entry)
    defs["RuleFile"]["properties"]["tables"]["required"] = list(TABLES)
    defs["ZoneEntry"]["properties"]["values"] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _WRITTEN[kind] for name, kind in kinds().items()},
    }
    defs["NeedEntry"]["properties"]["driver"] = {
        "description": "One of these, or an item that stands above.",
        "anyOf": [{"enum": list(DRIVERS)}, {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"}],
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rule file of gapwright",
        "description": "One version of one rule set: whole, or what it changes in another.",
        "if": {"required": ["based_on"]},
        "then": {"$ref": _REF.format(name="OverlayFile")},
        "else": {"$ref": _REF.format(name="RuleFile")},
        "$defs": defs,
    }


def _values(entry: str) -> dict[str, Any]:
    """Return the schema of the values section: every name, and how its value is written."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: {
                "description": f"A {kind}. {_SPOKEN[STRICTER.get(name, '')]}".strip(),
                "allOf": [{"$ref": _REF.format(name=entry)}],
                "properties": {"value": _WRITTEN[kind]},
            }
            for name, kind in kinds().items()
        },
    }


def _tables(entry: str) -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: {
                "allOf": [{"$ref": _REF.format(name=entry)}],
                "properties": {
                    "rows": {"additionalProperties": _row(shape)},
                    **({"hit_policy": policies} if entry == "TableEntry" else {}),
                },
            }
            for name, shape in TABLES.items()
            for policies in ({"enum": list(shape.hit_policies)},)
        },
    }


def _row(shape: TableShape) -> dict[str, Any]:
    when = {name: _condition(name) for name in shape.inputs}
    then = {name: {"enum": list(words)} if words else {} for name, words in shape.outputs.items()}
    needed = [name for name in shape.outputs if name not in shape.optional]
    return {
        "properties": {
            "when": {"properties": when, "additionalProperties": False},
            "then": {"properties": then, "additionalProperties": False, "required": needed},
        }
    }


def _condition(name: str) -> dict[str, Any]:
    if name in LENGTHS:
        return {"$ref": _REF.format(name="RangeEntry")}
    options: dict[str, Any] = {"type": "boolean"}
    if name in CHOICES:
        options = {"enum": list(CHOICES[name])}
    return {"anyOf": [options, {"type": "array", "items": options}]}
