"""The JSON Schema of rule files, from which editors complete and check."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from gapwright.rulesets.measure import EXAMPLES, Measure
from gapwright.rulesets.schema import OverlayFile, RuleFile
from gapwright.rulesets.values import REQUIRED, VALUES, ZONED
from gapwright.rulesets.vocabulary import (
    ASSUMED,
    CHOICES,
    COUNTED_DRIVERS,
    DRIVERS,
    JOB_DRIVERS,
    LABOR_FACTOR,
    LENGTHS,
    MESH,
    TABLES,
    TASK_TIME,
    TableShape,
)

REF = "#/$defs/{name}"
_KINDS = {
    "length": "A length",
    "lengths": "A list of lengths",
    "share": "A share",
    "angle": "An angle",
    "count": "A whole number",
    "flag": "true or false",
    "time": "A time",
    "density": "A density",
}
_STRICTER = {"more": " Higher is stricter.", "less": " Lower is stricter.", "": ""}


def file_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a rule file: a whole one, or one based on another."""
    _, defs = msgspec.json.schema_components([RuleFile, OverlayFile], ref_template=REF)
    for file, value, table, assumption, mesh in (
        ("RuleFile", "ValueEntry", "TableEntry", "AssumptionEntry", "MeshEntry"),
        ("OverlayFile", "ValueChange", "TableChange", "AssumptionChange", "MeshChange"),
    ):
        sections = defs[file]["properties"]
        sections["values"] = _named(value, VALUES, ("value",))
        sections["assumptions"] = _named(assumption, ASSUMED, ("value", "low", "high"))
        sections["mesh"] = _named(mesh, MESH, ("value",))
        sections["tables"] = _closed({name: _table(table, one) for name, one in TABLES.items()})
    whole = defs["RuleFile"]["properties"]
    for section, required in (("values", REQUIRED), ("mesh", MESH), ("tables", TABLES)):
        whole[section]["required"] = list(required)
    zoned = {name: written(VALUES[name]) for name in ZONED}
    defs["ZoneEntry"]["properties"]["values"] = _closed(zoned)
    defs["NeedEntry"]["properties"]["driver"] = {
        "description": "One of these, or the id of an item above this one.",
        "anyOf": [{"enum": list(DRIVERS)}, {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"}],
    }
    for part, drivers in (("job", JOB_DRIVERS), ("estimate", DRIVERS), ("count", COUNTED_DRIVERS)):
        needs = defs["TaskEntry"]["properties"][part]
        driven = {"properties": {"driver": {"enum": list(drivers)}}}
        needs["additionalProperties"] = {"allOf": [needs["additionalProperties"], driven]}
    defs["WorkNeedEntry"]["properties"]["time"] = written(TASK_TIME)
    defs["LaborFactorEntry"]["properties"]["share"] = written(LABOR_FACTOR)
    return versioned("rule file", "rule set", ("RuleFile", "OverlayFile"), defs)


def versioned(
    title: str, noun: str, forms: tuple[str, str], defs: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the schema of a kind of file that is whole, or changes what it is based on."""
    whole, change = ({"$ref": REF.format(name=name)} for name in forms)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"A {title} of gapwright",
        "description": f"One version of one {noun}: complete, or only its changes to another.",
        "if": {"required": ["based_on"]},
        "then": change,
        "else": whole,
        "$defs": defs,
    }


def written(measure: Measure) -> dict[str, Any]:
    """Return the schema of a quantity, as a rule file writes it."""
    if measure.kind == "flag":
        return {"type": "boolean"}
    if measure.kind == "count":
        return {"type": "integer", "minimum": measure.least, "maximum": measure.most}
    if measure.kind == "lengths":
        return {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 100}
    return {"type": "string", "examples": EXAMPLES[measure.kind]}


def _named(entry: str, measures: Mapping[str, Measure], members: tuple[str, ...]) -> dict[str, Any]:
    """Return the schema of a section with a closed list of names, each a kind of quantity."""
    return _closed(
        {
            name: {
                "description": _describe(one),
                "allOf": [{"$ref": REF.format(name=entry)}],
                "properties": dict.fromkeys(members, written(one)),
            }
            for name, one in measures.items()
        }
    )


def _describe(measure: Measure) -> str:
    bounds = f", from {measure.least} to {measure.most}" if measure.most is not None else ""
    return f"{_KINDS[measure.kind]}{bounds}.{_STRICTER[getattr(measure, 'stricter', '')]}"


def _closed(properties: Mapping[str, Any]) -> dict[str, Any]:
    return {"type": "object", "additionalProperties": False, "properties": dict(properties)}


def _table(entry: str, shape: TableShape) -> dict[str, Any]:
    then = {name: {"enum": list(words)} if words else {} for name, words in shape.outputs.items()}
    needed = [name for name in shape.outputs if name not in shape.optional]
    row = {
        "properties": {
            "when": {
                "properties": {name: _condition(name) for name in shape.inputs},
                "additionalProperties": False,
            },
            "then": {"properties": then, "additionalProperties": False, "required": needed},
        }
    }
    policy = {"hit_policy": {"enum": list(shape.hit_policies)}} if entry == "TableEntry" else {}
    return {
        "allOf": [{"$ref": REF.format(name=entry)}],
        "properties": {"rows": {"additionalProperties": row}, **policy},
    }


def _condition(name: str) -> dict[str, Any]:
    if name in LENGTHS:
        return {"$ref": REF.format(name="RangeEntry")}
    options = {"enum": list(CHOICES[name])} if name in CHOICES else {"type": "boolean"}
    return {"anyOf": [options, {"type": "array", "items": options}]}
