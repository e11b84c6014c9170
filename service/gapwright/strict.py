"""Strict conversion of plain data (from JSON or YAML) to structs, reporting every fault at once.

msgspec converts and validates, but stops at the first error. When it fails, the walk below compares
the whole value with its type and collects every fault with its path.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from itertools import islice
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import inspect

from gapwright.errors import Fault, InvalidRequestError
from gapwright.quantity.kinds import decode, shown

T = TypeVar("T")
Path = tuple[str | int, ...]

_MOST_WHOLE = 2**53
_MOST_NAMES = 50
_MOST_MEMBERS = 6
MOST_FAULTS = 100
"""The most faults reported at once."""


def convert(raw: object, kind: type[T]) -> T:
    """Return `raw` as a `kind`. Raises InvalidRequestError with every fault."""
    try:
        return msgspec.convert(raw, kind, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError) as error:
        raise InvalidRequestError(
            faults(raw, kind) or [Fault(path=(), problem=f"{error}.")]
        ) from None


def integers(raw: Any) -> Any:  # noqa: ANN401 - any JSON value
    """Return plain data in which 4.0 is the integer 4, as in JSON Schema and RFC 8785."""
    if isinstance(raw, float) and raw.is_integer() and abs(raw) < _MOST_WHOLE:
        return int(raw)
    if isinstance(raw, list):
        return [integers(one) for one in raw]
    if isinstance(raw, Mapping):
        return {name: integers(value) for name, value in raw.items()}
    return raw


def faults(
    raw: object,
    kind: Any,  # noqa: ANN401 - any type msgspec knows
    most: int | None = MOST_FAULTS,
) -> list[Fault]:
    """Return everything that keeps `raw` from being a `kind`, in document order."""
    try:  # much faster than walking a valid value
        msgspec.convert(raw, kind, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError, RecursionError):
        return list(islice(_walk(raw, _info(kind), ()), most))
    return []


def unknown_name(name: object, known: Collection[str]) -> str:
    """Return a remedy that suggests the nearest known name, or lists all of them."""
    given = str(name)[:60]
    names = list(known)
    if len(names) > _MOST_NAMES:  # comparing thousands of names is slow
        names = [one for one in names if one[:3] == given[:3] or one[-3:] == given[-3:]]
    close = get_close_matches(given, names[:_MOST_NAMES], n=1)
    if close:
        return f"Did you mean '{close[0]}'?"
    more = f" and {len(known) - _MOST_NAMES} more" if len(known) > _MOST_NAMES else ""
    return f"Expected one of {', '.join(islice(known, _MOST_NAMES))}{more}." if known else ""


@lru_cache(maxsize=512)
def _info(kind: Any) -> inspect.Type:  # noqa: ANN401
    return inspect.type_info(kind)


def _walk(raw: object, info: inspect.Type, path: Path) -> Iterator[Fault]:
    """Yield the faults of a value of one type, and of all its parts."""
    match info:
        case inspect.Metadata():
            yield from _walk_described(raw, info, path)
        case inspect.StructType():
            yield from _walk_struct(raw, info, path)
        case inspect.DictType() | inspect.ListType() | inspect.VarTupleType():
            yield from _walk_collection(raw, info, path)
        case inspect.UnionType():
            yield from _walk_union(raw, info, path)
        case inspect.CustomType():
            try:
                decode(info.cls, raw)
            except ValueError as error:
                yield Fault(path=path, problem=str(error))
        case inspect.LiteralType():
            if raw not in info.values or isinstance(raw, bool):
                known = [str(value) for value in info.values]
                close = get_close_matches(str(raw), known, n=1)
                hint = f"Did you mean '{close[0]}'?" if close else ""
                yield _mismatch(raw, path, _noun(info), hint)
        case _:
            yield from _walk_scalar(raw, info, path)


def _mismatch(raw: object, path: Path, expected: str, remedy: str = "") -> Fault:
    return Fault(path=path, problem=f"Expected {expected}; got {shown(raw)}.", remedy=remedy)


def _missing(path: Path, expected: str) -> Fault:
    problem = "This required field is missing."
    return Fault(path=path, problem=problem, remedy=f"Expected {expected}.")


def _walk_described(raw: object, info: inspect.Metadata, path: Path) -> Iterator[Fault]:
    """Yield the faults of a value; for text with a pattern, show examples of valid text."""
    examples = (info.extra_json_schema or {}).get("examples", [])
    by_example = getattr(info.type, "pattern", None) and examples
    for fault in _walk(raw, info.type, path):
        if fault.path == path and by_example:
            yield _mismatch(raw, path, f"text such as {' or '.join(map(str, examples))}")
        else:
            yield fault


def _walk_struct(raw: object, info: inspect.StructType, path: Path) -> Iterator[Fault]:
    fields = {field.encode_name: field for field in info.fields}
    if not isinstance(raw, Mapping):
        members = ", ".join(islice(fields, _MOST_MEMBERS))
        yield _mismatch(raw, path, f"an object with fields such as {members}")
        return
    for name, value in raw.items():
        if name in fields:
            yield from _walk(value, fields[name].type, (*path, name))
        elif not (info.tag_field and name == info.tag_field):
            problem = f"Unknown field {str(name)[:60]!r}."
            remedy = unknown_name(name, list(fields))
            yield Fault(path=(*path, name), problem=problem, remedy=remedy)
    for name, field in fields.items():
        if field.required and name not in raw:
            yield _missing((*path, name), _noun(field.type))


def _walk_collection(
    raw: object, info: inspect.DictType | inspect.ListType | inspect.VarTupleType, path: Path
) -> Iterator[Fault]:
    """Yield the faults of a list or an object; the items of one that is too long are skipped."""
    if not _same_shape(raw, info):
        yield _mismatch(raw, path, _noun(info))
        return
    assert isinstance(raw, (list, tuple, Mapping))
    noun = "field" if isinstance(raw, Mapping) else "item"
    if info.min_length is not None and len(raw) < info.min_length:
        yield _miscount(len(raw), path, "at least", info.min_length, noun)
    if info.max_length is not None and len(raw) > info.max_length:
        yield _miscount(len(raw), path, "at most", info.max_length, noun)
    elif isinstance(raw, Mapping):
        assert isinstance(info, inspect.DictType)
        for name, value in raw.items():
            yield from _walk(name, _bare(info.key_type), (*path, name))
            yield from _walk(value, info.value_type, (*path, name))
    else:
        assert not isinstance(info, inspect.DictType)
        for at, item in enumerate(raw):
            yield from _walk(item, info.item_type, (*path, at))


def _miscount(count: int, path: Path, bound: str, limit: int, noun: str) -> Fault:
    nouns = noun if limit == 1 else f"{noun}s"
    return Fault(path=path, problem=f"Expected {bound} {limit} {nouns}; got {count}.")


def _walk_union(raw: object, info: inspect.UnionType, path: Path) -> Iterator[Fault]:
    """Yield the faults of the union member that the value is closest to."""
    if raw is None and any(isinstance(member, inspect.NoneType) for member in info.types):
        return
    members = _members(info)
    tagged = {m.tag: m for m in members if isinstance(m, inspect.StructType) and m.tag_field}
    if len(members) == 1:
        yield from _walk(raw, members[0], path)
    elif isinstance(raw, Mapping) and tagged and len(tagged) == len(members):
        yield from _walk_tagged(raw, tagged, path)
    else:
        tries = [list(_walk(raw, member, path)) for member in members]
        if all(tries):
            fitting = [t for t, m in zip(tries, members, strict=True) if _same_shape(raw, m)]
            yield from (fitting[0] if len(fitting) == 1 else [_mismatch(raw, path, _noun(info))])


def _walk_tagged(
    raw: Mapping[str, Any], tagged: Mapping[Any, inspect.StructType], path: Path
) -> Iterator[Fault]:
    """Yield the faults of the union member that the tag names."""
    field = str(next(iter(tagged.values())).tag_field)
    known = [str(tag) for tag in tagged]
    tag = raw.get(field)
    if isinstance(tag, str) and tag in tagged:
        yield from _walk_struct(raw, tagged[tag], path)
    elif field in raw:
        close = get_close_matches(str(tag)[:60], known, n=1)
        hint = f"Did you mean '{close[0]}'?" if close else ""
        yield _mismatch(tag, (*path, field), f"one of {', '.join(known)}", hint)
    else:
        yield _missing((*path, field), f"one of {', '.join(known)}")


def _walk_scalar(raw: object, info: inspect.Type, path: Path) -> Iterator[Fault]:
    """Yield the fault that msgspec finds in a string, number, boolean, or date."""
    names = ("gt", "ge", "lt", "le", "multiple_of", "min_length", "max_length", "pattern")
    bounds = {name: getattr(info, name, None) for name in names}
    base = _PYTHON_TYPES.get(type(info), Any)
    try:
        msgspec.convert(raw, Annotated[base, msgspec.Meta(**bounds)])
    except (msgspec.ValidationError, ValueError) as error:
        expected = _noun(info)
        if "Expected `" in str(error) and _same_shape(raw, info):
            expected = _limits(str(error), expected)
        yield _mismatch(raw, path, expected)


def _limits(error: str, noun: str) -> str:
    """Return msgspec's description of a broken bound in plain words."""
    if "regex" in error:
        return "a name in lowercase letters, digits, and separators"
    limit = error.removeprefix("Expected ").split(" - at")[0].partition("` ")[2]
    for sign, words in _BOUNDS.items():
        limit = re.sub(rf"^{re.escape(sign)} ", f"{words} ", limit)
    return f"{noun} {limit}{' characters' if 'of length' in error else ''}"


def _bare(info: inspect.Type) -> inspect.Type:
    return info.type if isinstance(info, inspect.Metadata) else info


def _members(info: inspect.UnionType) -> list[inspect.Type]:
    """Return the members of a union, except null and unset."""
    return [m for m in info.types if not isinstance(m, inspect.NoneType) and m != _UNSET]


def _same_shape(raw: object, info: inspect.Type) -> bool:
    """Return whether a value has the JSON type that a type requires."""
    kind = type(_bare(info))
    is_flag = kind is inspect.BoolType
    return isinstance(raw, _SHAPES.get(kind, ())) and isinstance(raw, bool) == is_flag


def _noun(info: inspect.Type) -> str:
    """Return what a type accepts, in words."""
    match info := _bare(info):
        case inspect.CustomType():
            kind: Any = info.cls
            return f"{kind.description} with a unit, such as {kind.example}"
        case inspect.LiteralType():
            return f"one of {', '.join(str(value) for value in info.values)}"
        case inspect.UnionType():
            return " or ".join(_noun(member) for member in _members(info))
    return _NOUNS.get(type(info), "another value")


_BOUNDS = {
    "of length >=": "of at least",
    "of length <=": "of at most",
    ">=": "of at least",
    "<=": "of at most",
    ">": "greater than",
    "<": "less than",
}
"""How msgspec writes bounds, and the same in words."""
_UNSET = inspect.type_info(msgspec.UnsetType)
_PYTHON_TYPES: dict[type, Any] = {
    inspect.StrType: str,
    inspect.IntType: int,
    inspect.FloatType: float,
    inspect.BoolType: bool,
    inspect.NoneType: None,
    inspect.DateType: date,
}
_NOUNS: dict[type, str] = {
    inspect.StrType: "text",
    inspect.IntType: "a whole number",
    inspect.FloatType: "a number",
    inspect.BoolType: "true or false",
    inspect.NoneType: "null",
    inspect.DateType: "a date, such as 2026-01-31",
    inspect.AnyType: "a value",
    inspect.StructType: "an object",
    inspect.DictType: "an object",
    inspect.ListType: "a list",
    inspect.VarTupleType: "a list",
}
"""What a type accepts, in words."""
_SHAPES: dict[type, tuple[type, ...]] = {
    **dict.fromkeys((inspect.StructType, inspect.DictType), (Mapping,)),
    **dict.fromkeys((inspect.ListType, inspect.VarTupleType), (list, tuple)),
    **dict.fromkeys((inspect.StrType, inspect.CustomType, inspect.DateType), (str,)),
    inspect.IntType: (int,),
    inspect.FloatType: (int, float),
    inspect.BoolType: (bool,),
}
"""The Python types of JSON and YAML values that each type accepts."""
