"""Write a quick bill as canonical JSON, from parts that are kept where they come up again.

The bytes are those of the answer that `show_materials` returns, encoded; tests hold the two equal.
"""

from __future__ import annotations

from functools import lru_cache

from service.calc.bill import Line
from service.calc.estimate import Estimate
from service.calls.answers.materials import show_line, show_tools
from service.calls.answers.sizing import show_advice
from service.canonical import canonical_result
from service.quantity.show import System, long, short
from service.rulesets.ruleset import Tool


def write_materials(found: Estimate, perimeter_nm: int, system: System) -> bytes:
    """Return a bill in the caller's units, as canonical JSON."""
    strip, sizing, bill = found.strip_nm, found.sizing, found.bill
    advice = [show_advice(one, system) for one in sizing.advice] if sizing else []
    return b'{"advice":%b,"lines":[%b],"perimeter":%b,"strip_width":%b,"tools":%b}' % (
        canonical_result(advice) if advice else b"[]",
        b",".join([_line(line, system) for line in bill.lines]),
        canonical_result(long(perimeter_nm, system, "up")),
        b"null" if strip is None else _width(strip, system),
        _tools(bill.tools),
    )


@lru_cache(maxsize=256)
def _width(strip_nm: int, system: System) -> bytes:
    return canonical_result(short(strip_nm, system, "down"))


@lru_cache(maxsize=8192)
def _line(line: Line, system: System) -> bytes:
    return canonical_result(show_line(line, system))


@lru_cache(maxsize=1024)
def _tools(tools: tuple[Tool, ...]) -> bytes:
    return canonical_result(show_tools(tools))
