"""Strict conversion of plain data (from JSON or YAML) to structs, telling every fault at once.

msgspec converts and validates, but stops at the first error. When it refuses, the walk below goes
through the whole value beside its type and collects all that is wrong, each with its place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from itertools import islice
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import inspect

from service.errors import BadInputError, Fault
from service.quantity.kinds import decode, shown

T = TypeVar("T")
Path = tuple[str | int, ...]

_MOST_WHOLE = 2**53
_MOST_NAMES = 50

_MOST_MEMBERS = 6
MOST_FAULTS = 100
"""Faults told in one go; a file with more is wrong in kind, not in detail."""


def convert(raw: object, kind: type[T]) -> T:
    """Return `raw` as a `kind`. Raises BadInputError with every fault."""
    try:
        return msgspec.convert(raw, kind, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError) as error:
        raise BadInputError(faults(raw, kind) or [Fault(path=(), problem=f"{error}.")]) from None


def whole(raw: Any) -> Any:  # noqa: ANN401 - any JSON value
    """Return plain data in which 4.0 is the whole number 4, as to JSON Schema and RFC 8785."""
    if isinstance(raw, float) and raw.is_integer() and abs(raw) < _MOST_WHOLE:
        return int(raw)
    if isinstance(raw, list):
        return [whole(one) for one in raw]
    if isinstance(raw, Mapping):
        return {name: whole(value) for name, value in raw.items()}
    return raw


def faults(
    raw: object,
    kind: Any,  # noqa: ANN401 - any type msgspec knows
    most: int | None = MOST_FAULTS,
) -> list[Fault]:
    """Return everything that keeps `raw` from being a `kind`, in document order."""
    if _fits(raw, kind):  # far quicker than to walk through what is right
        return []
    found: list[Fault] = []
    for fault in _walk(raw, _info(kind), ()):
        found.append(fault)
        if len(found) == most:
            break
    return found


def _fits(raw: object, kind: Any) -> bool:  # noqa: ANN401
    try:
        msgspec.convert(raw, kind, strict=True, dec_hook=decode)
    except (msgspec.ValidationError, ValueError, RecursionError):
        return False
    return True


def unknown_name(name: object, known: Mapping[str, object] | list[str]) -> str:
    """Return a remedy that names the nearest known name, or all of them."""
    told = str(name)[:60]
    close = get_close_matches(told, _likely(told, known), n=1)
    if close:
        return f"Did you mean {close[0]}?"
    more = f" and {len(known) - _MOST_NAMES} more" if len(known) > _MOST_NAMES else ""
    return f"Known here: {', '.join(islice(known, _MOST_NAMES))}{more}." if known else ""


def _likely(name: str, known: Iterable[str]) -> list[str]:
    """Return the known names, of many only those that begin or end as a name does.

    To compare names is slow, and a file may hold thousands of them.
    """
    names = list(known)
    if len(names) > _MOST_NAMES:
        names = [one for one in names if one[:3] == name[:3] or one[-3:] == name[-3:]]
    return names[:_MOST_NAMES]


@lru_cache(maxsize=512)
def _info(kind: Any) -> inspect.Type:  # noqa: ANN401
    return inspect.type_info(kind)


def _walk(raw: object, info: inspect.Type, path: Path) -> Iterator[Fault]:
    examples: list[object] = []
    if isinstance(info, inspect.Metadata):
        examples = (info.extra_json_schema or {}).get("examples", [])
        info = info.type
    if isinstance(info, inspect.StrType) and info.pattern and examples:
        yield from _walk_named(raw, info, path, examples)
        return
    walker = _WALKERS.get(type(info), _walk_leaf)
    yield from walker(raw, info, path)


def _walk_named(
    raw: object, info: inspect.StrType, path: Path, examples: list[object]
) -> Iterator[Fault]:
    """Yield the fault of text that must follow a pattern, and how such text looks."""
    shown_as = " or ".join(str(example) for example in examples)
    for fault in _walk_scalar(raw, info, path):
        remedy = f"Write it as in {shown_as}." if isinstance(raw, str) else fault.remedy
        yield Fault(path=fault.path, problem=fault.problem, remedy=remedy)


def _walk_struct(raw: object, info: inspect.StructType, path: Path) -> Iterator[Fault]:
    if not isinstance(raw, Mapping):
        members = ", ".join(field.encode_name for field in info.fields[:_MOST_MEMBERS])
        remedy = f"Write an object, of which members are {members}."
        yield Fault(path=path, problem=f"Found {shown(raw)}.", remedy=remedy)
        return
    fields = {field.encode_name: field for field in info.fields}
    for name, value in raw.items():
        if name in fields:
            yield from _walk(value, fields[name].type, (*path, name))
        elif not (info.tag_field and name == info.tag_field):
            remedy = unknown_name(name, list(fields))
            yield Fault(
                path=(*path, name), problem=f"There is no member {str(name)[:60]!r}.", remedy=remedy
            )
    for name, field in fields.items():
        if field.required and name not in raw:
            yield Fault(path=(*path, name), problem="This is missing.", remedy=_wanted(field.type))


def _walk_list(
    raw: object, info: inspect.ListType | inspect.VarTupleType, path: Path
) -> Iterator[Fault]:
    if not isinstance(raw, (list, tuple)):
        yield Fault(path=path, problem=f"Found {shown(raw)}.", remedy=_wanted(info))
        return
    if info.min_length is not None and len(raw) < info.min_length:
        remedy = f"Give at least {info.min_length}."
        yield Fault(path=path, problem=f"The list has {len(raw)} items.", remedy=remedy)
    if info.max_length is not None and len(raw) > info.max_length:
        remedy = f"Give at most {info.max_length}."
        yield Fault(path=path, problem=f"The list has {len(raw)} items.", remedy=remedy)
        return
    for at, item in enumerate(raw):
        yield from _walk(item, info.item_type, (*path, at))


def _walk_dict(raw: object, info: inspect.DictType, path: Path) -> Iterator[Fault]:
    if not isinstance(raw, Mapping):
        yield Fault(path=path, problem=f"Found {shown(raw)}.", remedy="Write an object.")
        return
    if info.max_length is not None and len(raw) > info.max_length:
        remedy = f"Give at most {info.max_length}."
        yield Fault(path=path, problem=f"The object has {len(raw)} members.", remedy=remedy)
        return
    for name, value in raw.items():
        yield from _walk_leaf(name, info.key_type, (*path, name))
        yield from _walk(value, info.value_type, (*path, name))


def _walk_union(raw: object, info: inspect.UnionType, path: Path) -> Iterator[Fault]:
    """Yield the faults under the member of the union that the value comes closest to."""
    if raw is None and any(isinstance(member, inspect.NoneType) for member in info.types):
        return
    members = [m for m in info.types if not _is_nothing(m)]
    if len(members) == 1:
        yield from _walk(raw, members[0], path)
        return
    if isinstance(raw, Mapping) and (tagged := _tagged(members)):
        yield from _walk_tagged(raw, tagged, path)
        return
    tries = [list(_walk(raw, member, path)) for member in members]
    if all(tries):
        fitting = [t for t, m in zip(tries, members, strict=True) if _same_shape(raw, m)]
        if len(fitting) == 1:
            yield from fitting[0]
        else:
            wanted = " or ".join(_noun(member) for member in members)
            yield Fault(path=path, problem=f"Found {shown(raw)}.", remedy=f"Write {wanted}.")


def _tagged(members: list[inspect.Type]) -> dict[object, inspect.StructType]:
    """Return the members of a union by their tag; none unless all are structs with one."""
    structs = [m for m in members if isinstance(m, inspect.StructType) and m.tag_field]
    return {one.tag: one for one in structs} if len(structs) == len(members) else {}


def _walk_tagged(
    raw: Mapping[str, Any], tagged: Mapping[object, inspect.StructType], path: Path
) -> Iterator[Fault]:
    """Yield the faults under the member of the union that the tag names."""
    field = str(next(iter(tagged.values())).tag_field)
    known = [str(tag) for tag in tagged]
    told = raw.get(field)
    if isinstance(told, str) and told in tagged:
        yield from _walk_struct(raw, tagged[told], path)
    elif field in raw:
        remedy = unknown_name(shown(told), known)
        yield Fault(path=(*path, field), problem=f"Found {shown(told)}.", remedy=remedy)
    else:
        remedy = f"Write one of {', '.join(known)}."
        yield Fault(path=(*path, field), problem="This is missing.", remedy=remedy)


def _walk_leaf(raw: object, info: inspect.Type, path: Path) -> Iterator[Fault]:
    if isinstance(info, (inspect.LiteralType, inspect.EnumType)):
        yield from _walk_choice(raw, info, path)
    elif isinstance(info, inspect.CustomType):
        yield from _walk_quantity(raw, info, path)
    else:
        yield from _walk_scalar(raw, info, path)


def _walk_choice(
    raw: object, info: inspect.LiteralType | inspect.EnumType, path: Path
) -> Iterator[Fault]:
    known = [str(v) for v in _choices(info)]
    if raw not in _choices(info) or isinstance(raw, bool):
        close = get_close_matches(str(raw), known, n=1)
        hint = f" Did you mean {close[0]}?" if close else ""
        remedy = f"Write one of {', '.join(known)}.{hint}"
        yield Fault(path=path, problem=f"Found {shown(raw)}.", remedy=remedy)


def _walk_quantity(raw: object, info: inspect.CustomType, path: Path) -> Iterator[Fault]:
    try:
        decode(info.cls, raw)
    except ValueError as error:
        yield Fault(path=path, problem=str(error))


def _walk_scalar(raw: object, info: inspect.Type, path: Path) -> Iterator[Fault]:
    try:
        msgspec.convert(raw, _rebuilt(info), strict=True)
    except (msgspec.ValidationError, ValueError) as error:
        bound = str(error) if "Expected `" in str(error) and _same_shape(raw, info) else ""
        problem = f"Found {shown(raw)}."
        yield Fault(path=path, problem=problem, remedy=_limits(bound) or _wanted(info))


def _limits(message: str) -> str:
    """Return msgspec's account of a broken bound as a remedy of ours."""
    if "regex" in message:
        return "Write small letters, digits and signs as in the other names."
    plain = message.replace("Expected `", "Write `").replace("`", "").split(" - at")[0]
    return f"{re.sub(r'^Write (str|int|float|array)', r'Write a value', plain)}." if plain else ""


def _rebuilt(info: inspect.Type) -> Any:  # noqa: ANN401
    """Return the annotated type that a leaf's info was made from."""
    base = _LEAVES.get(type(info))
    if base is None:
        return Any
    bounds = {
        name: value
        for name in ("gt", "ge", "lt", "le", "multiple_of", "min_length", "max_length", "pattern")
        if (value := getattr(info, name, None)) is not None
    }
    return Annotated[base[0], msgspec.Meta(**bounds)] if bounds else base[0]


def _choices(info: inspect.LiteralType | inspect.EnumType) -> list[Any]:
    if isinstance(info, inspect.LiteralType):
        return list(info.values)
    return [member.value for member in info.cls]


def _same_shape(raw: object, info: inspect.Type) -> bool:
    """Return whether a value is at least of the JSON type that a type takes."""
    if isinstance(info, inspect.Metadata):
        info = info.type
    for kinds, python in _SHAPES:
        if isinstance(info, kinds):
            return isinstance(raw, python) and (python is not int or not isinstance(raw, bool))
    return False


def _is_nothing(info: inspect.Type) -> bool:
    """Return whether a member of a union stands for a value that is null or left out."""
    return isinstance(info, inspect.NoneType) or info == _UNSET


def _wanted(info: inspect.Type) -> str:
    return f"Write {_noun(info)}."


def _noun(info: inspect.Type) -> str:
    """Return what a type takes, as words for a remedy."""
    if isinstance(info, inspect.Metadata):
        info = info.type
    if isinstance(info, inspect.CustomType):
        kind: Any = info.cls
        return f"{kind.means}, such as {kind.example}"
    if isinstance(info, (inspect.LiteralType, inspect.EnumType)):
        return f"one of {', '.join(str(v) for v in _choices(info))}"
    if isinstance(info, inspect.UnionType):
        return " or ".join(_noun(m) for m in info.types if not _is_nothing(m))
    for kind, noun in _NOUNS.items():
        if isinstance(info, kind):
            return noun
    return _LEAVES.get(type(info), (None, "another value"))[1]


_UNSET = inspect.type_info(msgspec.UnsetType)
_LEAVES: dict[type, tuple[Any, str]] = {
    inspect.StrType: (str, "text"),
    inspect.IntType: (int, "a whole number"),
    inspect.FloatType: (float, "a number"),
    inspect.BoolType: (bool, "true or false"),
    inspect.NoneType: (None, "null"),
    inspect.DateType: (date, "a date, such as 2026-01-31"),
    inspect.AnyType: (Any, "a value"),
}
_NOUNS: dict[type, str] = {
    inspect.StructType: "an object",
    inspect.DictType: "an object",
    inspect.ListType: "a list",
    inspect.VarTupleType: "a list",
}
_SHAPES: tuple[tuple[tuple[type, ...], Any], ...] = (
    ((inspect.StructType, inspect.DictType), dict),
    ((inspect.ListType, inspect.VarTupleType), (list, tuple)),
    ((inspect.StrType, inspect.CustomType, inspect.DateType), str),
    ((inspect.IntType,), int),
    ((inspect.FloatType,), (int, float)),
    ((inspect.BoolType,), bool),
)
_WALKERS: dict[type, Callable[[Any, Any, Path], Iterator[Fault]]] = {
    inspect.StructType: _walk_struct,
    inspect.ListType: _walk_list,
    inspect.VarTupleType: _walk_list,
    inspect.DictType: _walk_dict,
    inspect.UnionType: _walk_union,
}
