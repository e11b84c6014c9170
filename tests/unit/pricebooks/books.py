"""Price books that the tests share, as plain data, and what is wrong with changed ones."""

from __future__ import annotations

import copy
import json
from enum import Enum

from gapwright.pricebooks.build import PRICE_BOOKS, build, inline
from gapwright.rulesets.reader import RuleFileError, read
from gapwright.rulesets.resolve import resolve

SENT = {
    "currency": "USD",
    "rounding": "half_up",
    "sources": {"list": {"title": "A price list", "status": "no source"}},
    "prices": {
        "roll": {
            "item": "mesh",
            "width": "8 in",
            "pack": "100 ft",
            "price": "24.00",
            "breaks": {"5": "22.00", "10": "21.50"},
            "description": "A roll",
            "source": "list",
        },
        "box": {
            "item": "screw",
            "pack": 100,
            "price": "9.00",
            "description": "A box",
            "source": "list",
        },
    },
    "labor": {"hourly_rate": "55.00", "source": "list"},
    "fees": {"travel": {"description": "Travel", "amount": "35.00", "source": "list"}},
    "markup": {
        "materials": {"kind": "markup", "share": "20 %"},
        "labor": {"kind": "margin", "share": "25 %"},
    },
    "minimum_charge": "350.00",
    "tax": {
        "sales": {"description": "Tax", "share": "8.25 %", "on": ["materials"], "source": "list"}
    },
}
HEAD = {
    "id": "own",
    "version": "1.0.0",
    "effective": "2026-01-01",
    "status": "published",
    "title": "Own prices",
    "change": "First.",
    "approved_by": "The tests",
}
WHOLE = {**HEAD, **SENT}
OVERLAY = {**HEAD, "version": "1.1.0", "effective": "2026-06-01", "based_on": "own@1.0.0"}


class Left(Enum):
    """What stands for a member that is left out."""

    OUT = "left out"


GONE = Left.OUT


def changed(tree, at="", new=None):
    """Return plain data with what stands at a dotted path replaced, or dropped where GONE."""
    found = copy.deepcopy(tree)
    *above, last = at.split(".")
    holder = found
    for step in above:
        holder = holder.setdefault(step, {})
    if new is GONE:
        del holder[last]
    else:
        holder[last] = new
    return found


def book_of(tree, **others):
    """Return the price book of a file that holds a tree; `others` are bases by id."""
    return build(resolve(document(tree), finder(others), PRICE_BOOKS))


def problems_of(tree, **others):
    try:
        book_of(tree, **others)
    except RuleFileError as error:
        return error.problems
    return ()


def document(tree):
    text = tree if isinstance(tree, str) else json.dumps(tree, indent=1)
    return read(text.encode(), "own.yaml")


def finder(others):
    known = {f"{tree['id']}@{tree['version']}": tree for tree in others.values()}

    def find(name):
        if name not in known:
            raise KeyError("Publish it first.")
        return document(known[name])

    return find


def sent(**members):
    """Return the book of a request that holds the shared one with members replaced."""
    return inline({**SENT, **members})
