"""Reading a drawing back: its words, its groups, its lines, and the boxes of its lettering."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from gapwright.drawing.svg import text_width

SVG = "{http://www.w3.org/2000/svg}"
_SIZES = {"big": 22, "head": 15, "small": 10}


def root_of(svg):
    return ElementTree.fromstring(svg)


def texts(root):
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def groups(root, label):
    """Return the groups whose name begins with a label."""
    return [g for g in root.iter(f"{SVG}g") if g.get("aria-label", "").startswith(label)]


def paths(element, kind):
    return [p for p in element.iter(f"{SVG}path") if kind in p.get("class", "").split()]


def trails(data):
    """Return the dots of each trail in path data that only moves and draws lines, absolutely."""
    return [
        [tuple(map(float, dot.split())) for dot in trail.rstrip("Z").split("L")]
        for trail in data.split("M")[1:]
    ]


def size_of(root):
    return tuple(float(part) for part in root.get("viewBox").split()[2:])


def boxes(root):
    """Return each lettering with the box that it takes on the page, as far as it stands square."""
    found = []
    _gather(root, 0.0, 0.0, found)
    return found


def _gather(element, x, y, found, rotation=0):
    moved = re.fullmatch(
        r"translate\((\S+) (\S+)\)(?: rotate\((\S+)\))?", element.get("transform", "")
    )
    if moved:
        x, y, rotation = x + float(moved[1]), y + float(moved[2]), float(moved[3] or 0)
    if element.tag == f"{SVG}text" and rotation in (0, -90):
        found.append(("".join(element.itertext()), _box(element, x, y, upright=rotation == 0)))
    for child in element:
        _gather(child, x, y, found, rotation)


def _box(text, x, y, *, upright):
    kinds = text.get("class").split()
    size = next((_SIZES[kind] for kind in kinds if kind in _SIZES), 12)
    wide = text_width("".join(text.itertext()), size)
    at, base = float(text.get("x")), float(text.get("y"))
    left = at - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor", "start")]
    top, bottom = base - 0.75 * size, base + 0.2 * size
    if upright:
        return x + left, y + top, x + left + wide, y + bottom
    return x + top, y - left - wide, x + bottom, y - left


def overlapping(found):
    """Return the pairs of letterings whose boxes overlap."""
    return [
        (one, other)
        for number, (one, a) in enumerate(found)
        for other, b in found[number + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
