"""What the contract does not say of a request, kept where requests are drawn from it.

The published schemas leave out which members go together, because client generators cannot read
it: `with_constraints` puts it in. Other things JSON Schema cannot say at all.
Whether modules overlap or a ring crosses itself, whether two entries of a list are called alike,
what a rule set says to assume, which decimals a currency has, and which roofs are fit for the
barrier: requests that are to be answered are mended in that. What remains is as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gapwright.quantity.kinds import Perimeter, Position

from tests.contract.ask import EXAMPLES

ARRAY = EXAMPLES["/v1/layout"]["layout-block"]["array"]
"""What stands in for arrays that were drawn."""

BOOK = {
    "currency": "USD",
    "prices": {"mesh": {"item": "mesh", "pack": "100 ft", "price": "100.00"}},
    "labor": {"hourly_rate": "50.00"},
}
"""What stands in for price books: decimals go by the currency, and breaks by the price."""

ASSUMING = "baseline@1.2.0"
"""A rule set that says what to assume where a job leaves something out."""

SHEET = "/v1/quote/crew-sheet"
FIT = {
    "roof_covering": "asphalt_shingle",
    "racking": "rail_mounted",
    "site": {},
    "clearance": {"readings": ["4 1/2 in"]},
}
"""What is told of a job that has a crew sheet."""

NAMED = {"sides": "side", "facings": "facing", "planes": "name"}
"""Lists in which no two entries are called alike, and what they are called by."""


_NOT_INFERRED: dict[str, Any] = {
    "direction": {"const": "eave"},
    **{name: {"type": "null"} for name in ("per_row", "inset", "overhang")},
}
"""Rails without any setting for inferred rails."""

_NO_DETAILS: dict[str, Any] = {
    "rails": {"properties": {"none": {"const": False}, "segments": {"type": "null"}}},
    **{name: {"maxItems": 0} for name in ("penetrations", "module_clamps", "sides", "facings")},
}
_NO_DETAILS["rails"]["properties"] |= _NOT_INFERRED
"""These members if no array is drawn."""

_UNCOUNTED = {
    "corners": {"enum": [None, 0]},
    "penetrations": {"const": 0},
    "zones": {"maxProperties": 0},
}
"""Figures that a layout counts itself."""

_UNREAD = {
    kind: {"items": {"properties": {"clearance": {"type": "null"}}}}
    for kind in ("sides", "facings")
}
_NO_READINGS = {"properties": {**_UNREAD, "planes": {"items": {"properties": _UNREAD}}}}
"""A layout without readings by side, as it must be if the strip is given."""


def exactly_one(members: dict[str, str]) -> dict[str, Any]:
    """Return the JSON Schema of exactly one of some members, given with their JSON types."""
    return {
        "oneOf": [
            {
                "required": [wanted],
                "properties": {
                    name: {"type": kind if name == wanted else "null"}
                    for name, kind in members.items()
                },
            }
            for wanted in members
        ]
    }


def array_or(several: str) -> dict[str, Any]:
    """Return the JSON Schema of one drawn array with its details, or several of something else."""
    return {
        "oneOf": [
            {
                "required": ["array"],
                "properties": {"array": {"type": "object"}, several: {"maxItems": 0}},
            },
            {
                "required": [several],
                "properties": {several: {"minItems": 1}, "array": {"type": "null"}, **_NO_DETAILS},
            },
        ]
    }


CONSTRAINTS: dict[str, dict[str, Any]] = {
    "ArrayInput": {
        "anyOf": [
            {"required": [part], "properties": {part: {"minItems": 1}}}
            for part in ("modules", "blocks", "outline")
        ]
    },
    "RailsInput": {
        "anyOf": [
            {"properties": {"none": {"const": False}, "segments": {"type": "null"}}},
            {"properties": {"none": {"const": False}, **_NOT_INFERRED}},
            {"properties": {"segments": {"maxItems": 0}, **_NOT_INFERRED}},
        ]
    },
    "LayoutRequest": array_or("planes"),
    "QuotePlaneInput": array_or("arrays"),
    "EstimateArrayInput": exactly_one(
        {"perimeter": "string", "grid": "object", "modules": "object"}
    ),
    "MaterialsRequest": {
        "allOf": [
            exactly_one({"perimeter": "string", "layout": "object"}),
            exactly_one({"clearance": "object", "strip_width": "string"}),
            {"properties": {"layout": {"anyOf": [{"type": "null"}, array_or("planes")]}}},
            {"anyOf": [{"properties": {"layout": {"type": "null"}}}, {"properties": _UNCOUNTED}]},
            {
                "anyOf": [
                    {"properties": {"strip_width": {"type": "null"}}},
                    {"properties": {"layout": _NO_READINGS}},
                ]
            },
        ]
    },
}
"""Which members of a request go together, by the name of its schema."""


def with_constraints(contract: dict[str, Any]) -> None:
    """Put into a contract which members of a request go together."""
    schemas = contract["components"]["schemas"]
    for name, constraint in CONSTRAINTS.items():
        schemas[name].update(constraint)
    unnamed = {name: {"type": "null"} for name in ("ruleset", "as_of")}
    for name in (name for name in schemas if name.endswith("Job")):
        schemas[name]["properties"]["given"]["properties"] = unnamed


def sound(path: str, request: dict[str, Any]) -> dict[str, Any]:
    """Return a request to a call with what JSON Schema cannot say mended."""
    request = _mended(request)
    if path in ("/v1/quote", SHEET):
        request["ruleset"] = ASSUMING
        if isinstance(request.get("prices"), dict):
            request["prices"] = BOOK
    if path == SHEET:
        request = _unread(request) | FIT
    given = (request.get("job") or {}).get("given")
    if given is not None:  # a job in a check goes by the rules that are named outside it
        given = {name: given[name] for name in given if name not in ("ruleset", "as_of")}
        request["job"] = {**request["job"], "given": given}
    for job in (request, given):
        if isinstance(job, dict) and not _zones_fit(job):
            del job["zones"]
    return request


def _mended(value: Any) -> Any:
    if isinstance(value, list):
        return [_mended(item) for item in value]
    if not isinstance(value, dict):
        return value
    value = {name: _mended(item) for name, item in value.items()}
    if value.get("array") is not None:
        value["array"] = ARRAY
    for name, called in NAMED.items():
        if value.get(name):
            value[name] = _once(value[name], called)
    if value.get("segments"):
        value["segments"] = [rail for rail in value["segments"] if _has_length(rail)]
    return value


def _once(entries: Sequence[dict[str, Any]], called: str) -> list[dict[str, Any]]:
    """Return entries without those called as one before; what has no name has its number."""
    kept: dict[str, dict[str, Any]] = {}
    for entry in entries:
        kept.setdefault(entry.get(called) or str(len(kept) + 1), entry)
    return list(kept.values())


def _has_length(rail: dict[str, dict[str, str]]) -> bool:
    start, end = ([Position.read(rail[at][axis]) for axis in "xy"] for at in ("start", "end"))
    return start != end


def _unread(value: Any) -> Any:
    """Return a job without any readings of the clearance."""
    if isinstance(value, list):
        return [_unread(item) for item in value]
    if not isinstance(value, dict):
        return value
    return {name: _unread(item) for name, item in value.items() if name != "clearance"}


def _zones_fit(request: dict[str, Any]) -> bool:
    """Return whether zones are parts of the perimeter: together no longer than it."""
    if not request.get("perimeter") or not request.get("zones"):
        return True
    zones = sum(Perimeter.read(length) for length in request["zones"].values())
    return zones <= Perimeter.read(request["perimeter"])
