"""Requests on and near the limits of the rules, where small changes have an effect."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from tests.rules.random_arrays import random_layout
from tests.unit.calls.quotes import SITE, area, ask, demo, drawn, job, named, readings


def in_inches(*readings):
    return {"clearance": {"readings": [f"{reading} in" for reading in readings]}}


SIZINGS = [
    in_inches("2"),
    in_inches("4"),
    in_inches("4 1/64"),
    in_inches("3 63/64"),
    in_inches("6"),
    in_inches("6 1/64"),
    in_inches("8"),
    in_inches("10"),
    in_inches("10 1/64"),
    in_inches("1 1/2"),
    in_inches("1 31/64"),
    in_inches("1 1/2", "6"),
    in_inches("4 1/2"),
    in_inches("4 1/2", "4 1/4"),
    in_inches("5", "5", "4", "5"),
    in_inches("5", "5", "4 1/64", "5"),
    in_inches("5", "5", "4", "4", "5", "5", "5", "5"),
    in_inches("6", "6", "2", "6"),
    in_inches("10", "10", "1", "10"),
    in_inches("3 1/8", "2 1/8"),
    {"clearance": {"readings": ["72 mm", "42 mm"]}},
    {"clearance": {"readings": ["37 mm"]}},
    in_inches("1.495"),
    in_inches("2 3/8", "2 3/8", "2 3/8", "1 25/64"),
    in_inches("2 3/8", "2 3/8", "2 3/8", "1 3/8"),
    in_inches(*["2 3/8"] * 26, *["1 1/4"] * 9),
    in_inches(*["8"] * 26, *["2"] * 9),
]
"""Readings on the limits of the stocked widths, of a web, of a tight spot and of the spring."""


QUICK = {"strip_width": "8 in"}
MATERIALS = [
    {"perimeter": "90 ft", **in_inches("4 1/2")},
    {"perimeter": "90 ft", **in_inches("6")},
    {"perimeter": "90 ft", **in_inches("10")},
    {"perimeter": "90 ft", **in_inches("10 1/64")},
    {"perimeter": "90 ft 1/64 in", **QUICK},
    {"perimeter": "92 ft", **QUICK, "joining": "ties"},
    {"perimeter": "92 ft 1/64 in", **QUICK, "joining": "ties"},
    {"perimeter": "100 ft", **QUICK, "finish": "spray"},
    {"perimeter": "25 m", **QUICK, "finish": "spray"},
    {"perimeter": "5000 ft", **QUICK},
    {"perimeter": "500 ft", **QUICK, "corners": 40},
    {"perimeter": "27 m", **QUICK},
    {"perimeter": "27.6 m", **QUICK, "joining": "ties"},
    {"perimeter": "60 m", **QUICK, "corners": 1},
    {"perimeter": "3 m", **QUICK, "corners": 1},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "30 ft"}},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "90 ft"}},
    {"perimeter": "27 m", **QUICK, "zones": {"exposed": "27 m"}},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "30 ft"}, "joining": "ties"},
    {"perimeter": "90 ft", **QUICK, "zones": {"exposed": "90 ft"}, "joining": "ties"},
    {"perimeter": "24 m", **QUICK, "zones": {"exposed": "24 m"}, "joining": "ties"},
    {"perimeter": "90 ft", **QUICK, "zones": {"visible": "30 ft"}},
    {"perimeter": "80 ft", **QUICK, "zones": {"exposed": "40 ft"}},
    *({"perimeter": "90 ft", **sizing} for sizing in SIZINGS[-8:]),
]

SITE_FLAGS = (
    "active_nest",
    "bat_roost",
    "animals_present",
    "poor_roof_condition",
    "damaged_wiring",
)


def site(roof_covering="asphalt_shingle", racking="rail_mounted", reading="4", **more):
    return {"roof_covering": roof_covering, "racking": racking, **in_inches(reading), **more}


SUITABILITY = [
    {},
    {"roof_covering": "asphalt_shingle", "racking": "rail_mounted"},
    *(site(reading=reading) for reading in ("1 1/2", "1 31/64", "10", "9 63/64", "4")),
    *(
        site(roof_covering)
        for roof_covering in (
            "slate",
            "clay_tile",
            "concrete_tile",
            "standing_seam_metal",
            "ribbed_metal",
            "membrane",
            "unknown",
        )
    ),
    *(site(racking=racking) for racking in ("railless", "ballasted", "unknown")),
    *(site(site={flag: True}) for flag in (*SITE_FLAGS, "manufacturer_prohibits")),
    site("standing_seam_metal", "railless"),
]

BLOCK = {
    "rows": 2,
    "columns": 2,
    "long_side": "66 in",
    "short_side": "40 in",
    "column_gap": "1/2 in",
    "row_gap": "1/2 in",
}
COUNTED = [
    {
        "layout": {
            "array": {"blocks": [BLOCK]},
            "sides": [{"side": "A-right", **in_inches("9")}],
        },
        **in_inches("3 1/2"),
    },
    *(
        {
            "layout": {
                "array": {"blocks": [BLOCK]},
                "sides": [{"side": "A-right", **in_inches(high)}],
            },
            **in_inches("4 1/2"),
        }
        for high in ("10", "10 1/64")
    ),
    {"layout": {"array": {"blocks": [BLOCK]}}, **in_inches("4 1/2")},
    {
        "layout": {
            "array": {"blocks": [BLOCK]},
            "penetrations": [{"x": "60 in", "y": "-6 in"}],
            "facings": [{"facing": "eave", "zone": "exposed"}],
        },
        **in_inches("4 1/2"),
    },
]
COUNTED_SEEDS = (0, 1, 5, 15, 18, 19, 20, 21, 22, 23, 27, 30, 31, 84, 90)
LAID_SEEDS = (0, 1, 4, 21, 30, 31, 2, 37)
QUOTED = (
    (0,),
    (1,),
    (2,),
    (5,),
    (13, "", "420"),
    (22, "", "600"),
    (4, "", "5000"),
    (13, "6912 in"),
    (13, "2688 in"),
    (34, "12000 in"),
    (4, "6480 in"),
)
SENT = ("currency", "rounding", "sources", "prices", "labor", "fees", "markup", "tax")
PRICES = {name: part for name, part in demo("2.0.0").content.items() if name in SENT}
BY_EDGE = {
    "sides": [
        {"side": "A-right", **in_inches("7")},
        {"side": "A-left", **in_inches("6 1/64", "6")},
    ],
    "facings": [{"facing": "ridge", **in_inches("4 1/4")}],
}
LAID = [
    {"array": {"blocks": [BLOCK]}, **in_inches("4 1/2"), **BY_EDGE},
    {"array": {"blocks": [BLOCK]}, **in_inches("4 1/2")},
    {"array": {"blocks": [{**BLOCK, "column_gap": "2 in"}]}, **in_inches("4")},
    {
        "array": {"blocks": [BLOCK, {**BLOCK, "y": "140 in", "x": "3 in"}]},
        "facings": [{"facing": "eave", "zone": "exposed"}, {"facing": "left", "open": True}],
        "rails": {"per_row": 2, "inset": "25 %", "overhang": "2 in"},
        **in_inches("10 1/64"),
    },
    {
        "array": {"blocks": [BLOCK]},
        "penetrations": [{"x": "60 in", "y": "-6 in"}, {"x": "-6 in", "y": "70 in"}],
        "rails": {
            "segments": [
                {"start": {"x": "-4 in", "y": "12 in"}, "end": {"x": "206 in", "y": "12 in"}}
            ]
        },
        **in_inches("4 1/2"),
    },
]


FEW_RETURNS = {
    "array": {
        "blocks": [
            {
                "rows": 1,
                "columns": 5,
                "long_side": "66 in",
                "short_side": "40 in",
                "orientation": "landscape",
            }
        ]
    },
    "rails": {
        "segments": [
            {"start": {"x": f"{x} in", "y": f"{y} in"}, "end": {"x": f"{end} in", "y": f"{y} in"}}
            for x, end, y in (
                (91, 159, 5),
                (44, 182, 30),
                (271, 324, 20),
                (45, 305, 32),
                (301, 317, 20),
            )
        ]
    },
}
"""Rails near and far from the edges, so that what a return weighs decides how many there are."""


def at_most(request: dict[str, Any], less: str = "0") -> dict[str, Any]:
    """Return a request with the most that it could cost by its assumptions as minimum charge.

    Whatever makes it dearer then makes its price open; with a cent less, whatever makes it cheaper.
    """
    prices = {name: part for name, part in PRICES.items() if name != "tax"}
    costly = ask({**request, "prices": prices}, named("baseline@2.0.0"))
    most = max(Decimal(one["total"]["high"]) for one in costly["assumptions"])
    return {**request, "prices": {**prices, "minimum_charge": str(most - Decimal(less))}}


def drawn_quote(seed: int) -> dict[str, Any]:
    """Return a request for the quote of a random array that leaves open only the stories."""
    told = {"working_day": "1 h", "crew": 2, "pitch": "low", "alternatives": True}
    return {**SITE, **told, "planes": [random_layout(seed)], "joining": ("rings", "ties")[seed % 2]}


def full_box(seed: int, more: str) -> dict[str, Any]:
    """Return a drawn quote with an array more, so that a screw more or less changes the boxes."""
    request = drawn_quote(seed)
    return {**request, "planes": [*request["planes"], {"arrays": [area(more, 4)]}]}


ALL_OPEN = {**SITE, "planes": [{"arrays": [{"modules": {"count": 24}}]}], "alternatives": True}
SPRAYED = {"joining": "ties", "finish": "spray", "bending": "brake"}
PIERCED = {"planes": [{"arrays": [{"perimeter": "90 ft", "penetrations": 2}]}]}
NO_RAILS = {"roof_covering": "clay_tile", "racking": "railless"}
QUOTED_SEEDS = (84, 123, 90, 28, 18, 163)


QUOTES = {
    **{f"drawn {seed}": drawn_quote(seed) for seed in QUOTED_SEEDS},
    "drawn, 100 screws": full_box(18, "522 ft"),
    "drawn, 101 screws": full_box(28, "522 ft"),
    "told": job(area("90 ft", 4), area("50 ft", 6, penetrations=2), alternatives=True),
    "on a limit": job(area("92 ft", 4), stories=2, pitch="walkable", joining="ties"),
    "sprayed and braked": job(
        area("100 ft", 8), bending="brake", finish="spray", stories=3, pitch="steep"
    ),
    "sparse": {**SITE, "planes": [{"arrays": [{"modules": {"count": 24}}]}]},
    "ragged": {**SITE, "planes": [{"arrays": [{"modules": {"count": 9}}]}]},
    "low": {**SITE, "planes": [{"arrays": [{"perimeter": "20 ft"}]}], "racking": "ballasted"},
    "sparser": {
        "racking": "railless",
        "roof_covering": "slate",
        "planes": [{"arrays": [{"grid": {"rows": 2, "columns": 5}}, {"perimeter": "90 ft"}]}],
    },
    "partly measured": {**SITE, "planes": [{"arrays": [area("90 ft", 6), area("90 ft")]}]},
    "widest": job(area("90 ft", 10)),
    "lowest": job(area("90 ft", "1 1/2")),
    "open": ALL_OPEN,
    "open, snapped": {**ALL_OPEN, "ruleset": "seacliff@2.0.0", "clearance": readings("1 1/2")},
    "open, sprayed": {**ALL_OPEN, **SPRAYED},
    "at most": at_most(ALL_OPEN),
    "sprayed, at most": at_most({**SITE, **SPRAYED, **PIERCED, "pitch": "steep"}),
    "no rails, at most": at_most({**SPRAYED, **PIERCED, **NO_RAILS, "pitch": "walkable"}),
    "drawn, at most": at_most(drawn_quote(123)),
    "drawn with ties, at most": at_most(drawn_quote(18)),
    "drawn, a cent less": at_most(drawn_quote(84), less="0.01"),
}
DRAWN = {
    "drawn": {**SITE, "planes": [drawn(4)], "alternatives": True},
    "drawn and not": {**SITE, "planes": [drawn(4, columns=7), {"arrays": [area("90 ft")]}]},
    "few returns": {**SITE, "planes": [{**FEW_RETURNS, **in_inches("4")}], "alternatives": True},
}
"""Quotes that take too long to change every rule for but in the long run."""


def counted(seed: int) -> dict[str, Any]:
    """Return a request for the materials of a random array."""
    layout = random_layout(seed)
    joining = ("rings", "ties")[seed % 2]
    return {"clearance": layout.pop("clearance"), "layout": layout, "joining": joining}


def quoted(seed: int, more: str = "", minimum: str = "") -> dict[str, Any]:
    """Return a request for the quote of a random array, on every third one unmeasured.

    `more` is the perimeter of an array that is not drawn: with it some item comes to full packs.
    With a minimum charge, prices are sent along.
    """
    layout = random_layout(seed)
    if seed % 3 == 0:
        del layout["clearance"]
    request = {**SITE, "planes": [layout], "joining": ("rings", "ties")[seed % 2]}
    if more:
        request["planes"].append({"arrays": [area(more, 4)]})
    else:
        request["alternatives"] = seed % 4 == 0
    if minimum:
        request["prices"] = {**PRICES, "minimum_charge": minimum}
    return request


def asked(call: str, requests: Iterable[Any]) -> list[tuple[str, Any]]:
    return [(call, request) for request in requests]


JOBS: list[tuple[str, Any]] = [
    *asked("sizing", SIZINGS),
    *asked(
        "materials",
        [*MATERIALS, *COUNTED, *map(counted, COUNTED_SEEDS)],
    ),
    *asked("suitability", SUITABILITY),
    *asked("layout", [*LAID, *map(random_layout, LAID_SEEDS), {**FEW_RETURNS, **in_inches("4")}]),
    *asked("quote", QUOTES.values()),
]
"""Each call with a request."""

MORE_JOBS: list[tuple[str, Any]] = [
    ("materials", {"layout": FEW_RETURNS, **QUICK}),
    *asked("layout", map(random_layout, range(60))),
    *asked("materials", map(counted, range(60))),
    *asked("quote", [*DRAWN.values(), *(quoted(*told) for told in QUOTED)]),
]
"""Requests for the long run."""
