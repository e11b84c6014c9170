"""The docstrings of struct members: the string below a member describes it.

Python drops these strings, so they are read from the source file. JSON Schemas take their
descriptions of members from here.
"""

from __future__ import annotations

import ast
import inspect
import sys
from functools import lru_cache
from itertools import pairwise
from typing import Any

import msgspec


def describe_members(schema: dict[str, Any], kind: type[msgspec.Struct]) -> None:
    """Put the docstring of each member of a struct into its JSON Schema."""
    if kind.__struct_config__.tag_field:
        tag = schema["properties"][kind.__struct_config__.tag_field]
        tag["description"] = f"Always `{kind.__struct_config__.tag}`."
    for name, text in member_docs(kind).items():
        if name in schema["properties"]:
            schema["properties"][name]["description"] = text


def member_docs(kind: type) -> dict[str, str]:
    """Return the docstring of each member of a class, inherited ones included, by name."""
    docs: dict[str, str] = {}
    for base in reversed(kind.__mro__):
        docs |= _module_docs(base.__module__).get(base.__name__, {})
    return docs


@lru_cache(maxsize=256)
def _module_docs(module: str) -> dict[str, dict[str, str]]:
    """Return the docstrings of members by class, for each class of one of our modules."""
    if not module.startswith("gapwright."):
        return {}
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {
        node.name: {
            member.target.id: " ".join(below.value.value.split())
            for member, below in pairwise(node.body)
            if isinstance(member, ast.AnnAssign)
            and isinstance(member.target, ast.Name)
            and isinstance(below, ast.Expr)
            and isinstance(below.value, ast.Constant)
            and isinstance(below.value.value, str)
        }
        for node in tree.body
        if isinstance(node, ast.ClassDef)
    }
