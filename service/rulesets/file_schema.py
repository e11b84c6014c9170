"""The JSON Schema of rule files, from which editors complete and check."""

from __future__ import annotations

from typing import Any

import msgspec

from service.rulesets.quoting import ASSUMED, MESH
from service.rulesets.schema import OverlayFile, RuleFile
from service.rulesets.values import OPTIONAL, STRICTER, ZONED, kinds
from service.rulesets.vocabulary import (
    CHOICES,
    COUNTED_DRIVERS,
    DRIVERS,
    JOB_DRIVERS,
    LENGTHS,
    TABLES,
    TableShape,
)

_REF = "#/$defs/{name}"
_WRITTEN = {
    "length": {"type": "string", "examples": ["6 in", "4 1/2 in", "150 mm"]},
    "lengths": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "share": {"type": "string", "examples": ["20 %"]},
    "angle": {"type": "string", "examples": ["70 deg"]},
    "count": {"type": "integer", "minimum": 0},
    "flag": {"type": "boolean"},
    "time": {"type": "string", "examples": ["12 min", "8 h"]},
    "density": {"type": "string", "examples": ["490 lb/ft³", "7850 kg/m³"]},
}
_SPOKEN = {"more": "More is stricter.", "less": "Less is stricter.", "": ""}


def file_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a rule file: a whole one, or one based on another."""
    refs, defs = msgspec.json.schema_components([RuleFile, OverlayFile], ref_template=_REF)
    del refs
    for name, entry in (("RuleFile", "ValueEntry"), ("OverlayFile", "ValueChange")):
        defs[name]["properties"]["values"] = _values(entry)
    defs["RuleFile"]["properties"]["values"]["required"] = [name for name in kinds() if name not in OPTIONAL]
    for name, entry in (("RuleFile", "TableEntry"), ("OverlayFile", "TableChange")):
        defs[name]["properties"]["tables"] = _tables(entry)
    defs["RuleFile"]["properties"]["tables"]["required"] = list(TABLES)
    _quoting(defs)
    defs["ZoneEntry"]["properties"]["values"] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _WRITTEN[kinds()[name]] for name in ZONED},
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


def _quoting(defs: dict[str, Any]) -> None:
    """Narrow the sections for quotes: the names that they may hold, and how each is written."""
    for file, assumption, mesh in (
        ("RuleFile", "AssumptionEntry", "MeshEntry"),
        ("OverlayFile", "AssumptionChange", "MeshChange"),
    ):
        sections = defs[file]["properties"]
        sections["assumptions"] = _named(assumption, ASSUMED, ("value", "from", "to"))
        sections["mesh"] = _named(mesh, MESH, ("value",))
    defs["RuleFile"]["properties"]["mesh"]["required"] = list(MESH)
    for part, drivers in (
        ("job", JOB_DRIVERS),
        ("estimate", DRIVERS),
        ("count", COUNTED_DRIVERS),
    ):
        needs = defs["TaskEntry"]["properties"][part]["additionalProperties"]
        driven = {"properties": {"driver": {"enum": list(drivers)}}}
        defs["TaskEntry"]["properties"][part]["additionalProperties"] = {"allOf": [needs, driven]}
    defs["WorkNeedEntry"]["properties"]["time"] = _WRITTEN["time"]
    defs["SurchargeEntry"]["properties"]["share"] = _WRITTEN["share"]


def _named(entry: str, kinds: dict[str, str], members: tuple[str, ...]) -> dict[str, Any]:
    """Return the schema of a section with a closed list of names, each of one kind."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: {
                "description": f"A {kind}.",
                "allOf": [{"$ref": _REF.format(name=entry)}],
                "properties": dict.fromkeys(members, _WRITTEN[kind]),
            }
            for name, kind in kinds.items()
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
