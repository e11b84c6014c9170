"""Folders of rule files that the tests write, with a ledger: a small root, and files over it."""

from __future__ import annotations

import os
from functools import lru_cache

from gapwright.rulesets.build.build import digest
from gapwright.rulesets.ledger import FILE
from gapwright.rulesets.overlay import lay
from gapwright.rulesets.reader import read

from tests.unit.make import house_text

HOUSE = """\
id: %s
version: %s
effective: 2026-12-01
status: published
title: t
change: c
approved_by: n
based_on: house@1.0.0
%s"""


@lru_cache(maxsize=1)
def house_tree():
    return read(house_text().replace("id: baseline", "id: house").encode(), "house").tree


def put(folder, name, version, text, effective="2026-01-01", on=None):
    """Write a rule file, and record it as published, without judging it; house is below it."""
    path = folder / name / f"{version}.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    tree = read(text.encode(), path.name).tree
    content = lay(on or house_tree(), tree) if "based_on" in tree else tree
    with (folder / FILE).open("a", encoding="utf-8") as ledger:
        ledger.write(f"published {name}@{version} effective {effective} {digest(content)}\n")


def add(folder, name, version="1.0.0", body="values: {overlap_length: {value: 8 in}}\n"):
    put(folder, name, version, HOUSE % (name, version, body))


def alter(folder, name, old, new, version="1.0.0"):
    """Replace a text that stands once in a rule file, and see that its stamp differs."""
    path = folder / name / f"{version}.yaml"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    rewrite(path, text.replace(old, new))


def rewrite(path, text):
    before = path.stat().st_mtime_ns
    path.write_text(text, encoding="utf-8")
    os.utime(path, ns=(before + 1, before + 1))
