"""Colours as people with each kind of dichromacy see them, computed.

Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision
deficiency", IEEE TVCG 15 (2009), matrices of severity 1.0 (from memory; each row sums to one, so
that white stays white, which is checked). Contrast: WCAG 2.2, relative luminance; 3 : 1 for
graphical objects (1.4.11), 4.5 : 1 for text (1.4.3). Distance: CIE 1976 L*a*b*, D65; a difference
of 2.3 is just noticeable, so 25 is told at a glance.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from gapwright.drawing.style import PALETTE

SEEN = {
    "all": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
}
XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)


def pieces(colours):
    return [colours[f"piece{n}"] for n in range(3)]


def times(matrix, colour):
    return [sum(a * b for a, b in zip(row, colour, strict=True)) for row in matrix]


def linear(colour):
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]


def lab(light):
    white = times(XYZ, (1, 1, 1))
    x, y, z = (
        part ** (1 / 3) if part > 216 / 24389 else (24389 / 27 * part + 16) / 116
        for part in (a / b for a, b in zip(times(XYZ, light), white, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def seen_as(colour, matrix):
    return lab([min(max(part, 0), 1) for part in times(matrix, linear(colour))])


def contrast(one, other):
    a, b = sorted((times(XYZ, linear(colour))[1] for colour in (one, other)), reverse=True)
    return (a + 0.05) / (b + 0.05)


def apart(one, other, matrix):
    pairs = zip(seen_as(one, matrix), seen_as(other, matrix), strict=True)
    return sum((a - b) ** 2 for a, b in pairs) ** 0.5


def test_the_measures_themselves():
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    for matrix in SEEN.values():
        assert times(matrix, (1, 1, 1)) == pytest.approx([1, 1, 1], abs=2e-6)
    red, green = "#c00000", "#5a7000"
    assert apart(red, green, SEEN["deuteranopia"]) < 25 < apart(red, green, SEEN["all"])


@pytest.mark.parametrize("matrix", SEEN.values(), ids=SEEN)
def test_pieces_and_warnings_are_told_apart_by_everybody(matrix):
    for one, other in combinations((*pieces(PALETTE), PALETTE["warning"]), 2):
        assert apart(one, other, matrix) > 25, (one, other)


def test_pieces_are_told_apart_in_grey():
    lightness = sorted(lab(linear(colour))[0] for colour in pieces(PALETTE))
    assert all(b - a > 13 for a, b in pairwise(lightness))


def test_lines_stand_out_from_paper_and_modules():
    for ground in (PALETTE["paper"], PALETTE["module"]):
        for colour in (*pieces(PALETTE), PALETTE["warning"], PALETTE["rail"]):
            assert contrast(colour, ground) >= (3 if ground == PALETTE["paper"] else 2.7)


def test_lettering_can_be_read():
    for colour in (PALETTE["ink"], PALETTE["quiet"]):
        for ground in (PALETTE["paper"], PALETTE["module"]):
            assert contrast(colour, ground) >= 4.5
    assert contrast(PALETTE["paper"], PALETTE["warning"]) >= 4.5
