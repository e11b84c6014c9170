"""Price books as a request brings them along, drawn at random: the shop that sells anything."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

PLACES = {"USD": 2, "EUR": 2, "JPY": 0, "KWD": 3}
ROUNDINGS = ("half_up", "half_even", "up")
PACKS: tuple[tuple[str, Any], ...] = (
    ("mesh", "100 ft"),
    ("screw", 100),
    ("washer", 100),
    ("tie", 100),
    ("ring", 500),
    ("spray_paint", 1),
    ("seal_for_cut_ends", 1),
    ("end_cap", 10),
)
"""What the baseline orders where nothing else is asked for."""


def amounts(places: int, most: int = 10**6) -> st.SearchStrategy[str]:
    """Amounts as text, with all decimals of a currency."""
    return st.integers(0, most).map(lambda units: f"{Decimal(units).scaleb(-places):f}")


@st.composite
def offers(draw: st.DrawFn, item: str, pack: Any, places: int) -> dict[str, Any]:
    """A price whose breaks fall: none makes a pack cost more."""
    falling = sorted(draw(st.lists(st.integers(0, 10**6), min_size=1, max_size=4)), reverse=True)
    each = [f"{Decimal(units).scaleb(-places):f}" for units in falling]
    counts = sorted(
        draw(st.sets(st.integers(2, 12), min_size=len(each) - 1, max_size=len(each) - 1))
    )
    breaks = dict(zip(map(str, counts), each[1:], strict=True))
    return {"item": item, "pack": pack, "price": each[0], "breaks": breaks}


def put_on() -> st.SearchStrategy[dict[str, str]]:
    """A mark-up, or a margin that leaves something for the cost."""
    percents = st.integers(0, 900).map(lambda tenths: f"{Decimal(tenths) / 10} %")
    return st.fixed_dictionaries({"kind": st.sampled_from(["markup", "margin"]), "share": percents})


def taxes() -> st.SearchStrategy[dict[str, Any]]:
    parts = st.lists(st.sampled_from(["materials", "labor", "fees"]), min_size=1, unique=True)
    percents = st.integers(0, 3000).map(lambda hundredths: f"{Decimal(hundredths) / 100} %")
    one = st.fixed_dictionaries({"description": st.just("A tax"), "share": percents, "on": parts})
    return st.dictionaries(st.sampled_from(["sales", "city", "green"]), one)


@st.composite
def books(draw: st.DrawFn, *, whole: bool = False, rounding: str | None = None) -> dict[str, Any]:
    """A book in some currency; `whole`: it has every price and what an hour costs."""
    currency = draw(st.sampled_from(sorted(PLACES)))
    places = PLACES[currency]
    sold = [one for one in PACKS if whole or draw(st.integers(0, 9))]
    book: dict[str, Any] = {
        "currency": currency,
        "rounding": rounding or draw(st.sampled_from(ROUNDINGS)),
        "prices": {item: draw(offers(item, pack, places)) for item, pack in sold},
        "markup": draw(st.dictionaries(st.sampled_from(["materials", "labor"]), put_on())),
        "tax": draw(taxes()),
        "fees": {
            name: {"description": "A fee", "amount": draw(amounts(places))}
            for name in draw(st.sets(st.sampled_from(["travel", "permit"])))
        },
    }
    if whole or draw(st.integers(0, 4)):
        book["labor"] = {"hourly_rate": draw(amounts(places))}
    if draw(st.booleans()):
        book["minimum_charge"] = draw(amounts(places, 10**8))
    return book
