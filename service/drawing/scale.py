"""The scale of a drawing: one that a ruler has, and a bar that stays true at any size."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from service.quantity.show import NM_PER_FT, NM_PER_IN, NM_PER_M, System

PX_PER_IN = 96
_IMPERIAL = {
    12: "1 in = 1 ft",
    16: "3/4 in = 1 ft",
    24: "1/2 in = 1 ft",
    32: "3/8 in = 1 ft",
    48: "1/4 in = 1 ft",
    64: "3/16 in = 1 ft",
    96: "1/8 in = 1 ft",
    120: "1 in = 10 ft",
    128: "3/32 in = 1 ft",
    192: "1/16 in = 1 ft",
    240: "1 in = 20 ft",
    360: "1 in = 30 ft",
    480: "1 in = 40 ft",
    600: "1 in = 50 ft",
}
_METRIC = (10, 20, 25, 50, 75, 100, 125, 150, 200, 250, 500)
_BARS = (1, 2, 4, 10, 20, 40, 100, 200, 400, 1000, 2000, 4000, 10000)
_LONGEST_BAR_PX = 220

FIELDS = ((1100, 660), (720, 1010))
"""How large the array may be on the page [px]: on a sheet that lies, and on one that stands."""
SHARED_FIELDS = ((860, 460), (560, 600))
"""The same where several planes share a sheet."""
Fields = tuple[tuple[float, float], ...]


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """One to `ratio`; a CSS pixel is 1/96 in, so that a print at full size is to scale."""

    ratio: int
    system: System

    @property
    def px_per_nm(self) -> float:
        """Return how many pixels of the page show one nanometre."""
        return PX_PER_IN / NM_PER_IN / self.ratio

    @property
    def text(self) -> str:
        """Return the scale in words."""
        ruler = _IMPERIAL.get(self.ratio) if self.system == "imperial" else None
        return f"Scale 1:{self.ratio}" + (f" ({ruler})" if ruler else "")


class Bar(msgspec.Struct, frozen=True, kw_only=True):
    """A scale bar: how long it is on the page, and what it says at its middle and its end."""

    length_px: float
    half: str
    whole: str


def scale_for(width_nm: int, height_nm: int, system: System, fields: Fields = FIELDS) -> Scale:
    """Return the largest usual scale at which an array fits into one of the fields."""
    for ratio in _ratios(system):
        scale = Scale(ratio=ratio, system=system)
        width, height = width_nm * scale.px_per_nm, height_nm * scale.px_per_nm
        if any(width <= across and height <= up for across, up in fields):
            return scale
    raise AssertionError  # pragma: no cover - the ratios have no end


def bar_for(scale: Scale) -> Bar:
    """Return the longest bar that is a round length and not too long for the page."""
    unit, name = (NM_PER_FT, "ft") if scale.system == "imperial" else (NM_PER_M, "m")
    each = unit * scale.px_per_nm
    fitting = [count for count in _BARS if count * each <= _LONGEST_BAR_PX]
    count = fitting[-1] if fitting else 0.4
    return Bar(length_px=count * each, half=f"{count / 2:g}", whole=f"{count:g} {name}")


def _ratios(system: System) -> Iterator[int]:
    usual = tuple(_IMPERIAL) if system == "imperial" else _METRIC
    yield from usual
    ratio = usual[-1]
    while True:
        ratio *= 2
        yield ratio
