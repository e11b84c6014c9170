"""The cut list: each piece with its marks, where it is cut from, and each roll with its pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec

from service.calc.layout.lay import NamedPiece
from service.calc.layout.marks import Mark
from service.calc.quote import LaidArea
from service.calc.rolls.cut_plan import CutPiece
from service.calls.quoting import Quoted
from service.quantity.show import Safe, System, long, short
from service.sheet.plain import line
from service.sheet.words import BESIDE, INSIDE, MARKS, OUTSIDE


class Roll(msgspec.Struct, frozen=True, kw_only=True):
    """One roll of the job: its number, its strip's width, and its pieces with their planes."""

    number: int
    width_nm: int
    length_nm: int
    remnant_nm: int
    pieces: tuple[tuple[CutPiece, str], ...]


def plane_titles(areas: Sequence[LaidArea]) -> list[str]:
    """Return what each drawn plane is called on the sheet: no two alike."""
    titles: list[str] = []
    for area in areas:
        name = line(area.name)
        number = 1 + sum(title == name or title.startswith(f"{name} (") for title in titles)
        titles.append(f"{name} ({number})" if number > 1 else name)
    return titles


def rolls_of(found: Quoted, titles: Sequence[str]) -> list[Roll]:
    """Return the rolls of all strip widths, each piece with the plane that it is for."""
    assert found.job is not None
    assert found.reckoned is not None
    laid = found.job.laid
    called = {area.plane.plane.name: title for area, title in zip(laid, titles, strict=True)}
    rolls: list[Roll] = []
    for part in found.reckoned.bill.plans.value:
        for roll in part.plan.rolls:
            pieces = [_placed(piece, called) for piece in roll.pieces]
            rolls.append(
                Roll(
                    number=len(rolls) + 1,
                    width_nm=part.strip_nm or 0,
                    length_nm=roll.length_nm,
                    remnant_nm=roll.remnant_nm,
                    pieces=tuple(pieces),
                )
            )
    return rolls


def _placed(piece: CutPiece, called: Mapping[str, str]) -> tuple[CutPiece, str]:
    """Return a piece by its own name, and what its plane is called; its label has both names."""
    plane, _, name = piece.label.partition(":")
    return msgspec.structs.replace(piece, label=name), called[plane]


def cut_list(
    areas: Sequence[LaidArea], titles: Sequence[str], rolls: Sequence[Roll], system: System
) -> list[dict[str, Any]]:
    """Return the pieces of each plane, in the order in which they are set.

    Where there are several channels, each piece says which it is bent to.
    """
    rolled = {(title, p.label): roll.number for roll in rolls for p, title in roll.pieces}
    several = len({run.strip for area in areas for run in area.plane.runs}) > 1
    return [
        {"title": title, "pieces": list(_pieces(area, title, rolled, system, several))}
        for area, title in zip(areas, titles, strict=True)
        if any(run.pieces for run in area.plane.runs)
    ]


def _pieces(
    area: LaidArea,
    title: str,
    rolled: Mapping[tuple[str, str], int],
    system: System,
    several: bool,
) -> Iterator[dict[str, Any]]:
    for run in area.plane.runs:
        for named in run.pieces:
            roll = rolled.get((title, named.name))
            channel = f"; channel {run.strip}" if several else ""
            yield {
                "name": named.name,
                "edges": f"{_edges(named)}{channel}",
                "roll": f"roll {roll}" if roll is not None else "no roll",
                "cut": long(named.piece.cut_nm, system, "up").text,
                "marks": [_mark(mark, system) for mark in named.marks],
            }


def _edges(named: NamedPiece) -> str:
    """Return the edges that a piece follows, in their order."""
    return ", ".join(dict.fromkeys(mark.edge for mark in named.marks))


def _mark(mark: Mark, system: System) -> dict[str, str]:
    # the last mark is the cut, and reads as the cut length does: two texts for it would be a trap
    safe: Safe = "up" if mark.kind == "end" else "down"
    return {"at": long(mark.at_nm, system, safe).text, "what": _what(mark)}


def _what(mark: Mark) -> str:
    if mark.kind == "corner":
        return INSIDE if mark.inside else OUTSIDE
    return BESIDE if mark.upright else MARKS[mark.kind]


def roll_plan(rolls: Sequence[Roll], alone: bool, system: System) -> list[dict[str, Any]]:
    """Return the rolls with their pieces in the order of cutting; `alone`: of one plane only."""
    return [
        {
            "name": f"Roll {roll.number}",
            "what": f"{short(roll.width_nm, system, 'down').text} wide,"
            f" {long(roll.length_nm, system, 'down').text}",
            "pieces": [
                {
                    "name": piece.label if alone else f"{title} {piece.label}",
                    "start": long(piece.start_nm, system, "down").text,
                    "length": long(piece.length_nm, system, "up").text,
                }
                for piece, title in roll.pieces
            ],
            "left": long(roll.remnant_nm, system, "down").text,
        }
        for roll in rolls
    ]
