"""Whether pieces can be cut at all for a run by its rules, every fault at once."""

from __future__ import annotations

from collections.abc import Iterator

from gapwright.calc.pieces.run import PieceRules, Run
from gapwright.calc.pieces.zones import longest_overlap_nm
from gapwright.errors import Fault, InvalidRequestError

Path = tuple[str | int, ...]


def check(run: Run, rules: PieceRules) -> None:
    """Raise InvalidRequestError with every fault of a run and its rules."""
    faults = [*_rule_faults(rules), *_zone_faults(run, rules)]
    if run.length_nm <= 0:
        faults.insert(0, _fault(("length_nm",), "The run has no length."))
    if not faults:
        faults += _piece_faults(run, rules)
    if faults:
        raise InvalidRequestError(faults)


def _rule_faults(rules: PieceRules) -> Iterator[Fault]:
    if rules.grid_nm <= 0:
        yield _fault(("rules", "grid_nm"), "The grid has no length.")
    if rules.piece_nm <= 0:
        yield _fault(("rules", "piece_nm"), "A piece has no length.")
    if not 0 <= rules.min_piece_length_nm <= rules.piece_nm:
        yield _fault(
            ("rules", "min_piece_length_nm"),
            "The least piece is not between 0 and the whole piece.",
        )
    for name in ("most_overlap_nm", "cut_weight_nm", "return_weight_nm"):
        if getattr(rules, name) < 0:
            yield _fault(("rules", name), "The length is below 0.")


def _zone_faults(run: Run, rules: PieceRules) -> Iterator[Fault]:
    reached = 0
    for number, zone in enumerate(run.zones):
        path = ("zones", number)
        if zone.start_nm != reached or zone.end_nm <= zone.start_nm:
            yield _fault(path, "The zone does not follow on the one before.", _ONE_BY_ONE)
        if zone.overlap_nm <= 0:
            yield _fault((*path, "overlap_nm"), "The overlap has no length.")
        if zone.span_nm is not None and zone.span_nm < max(rules.grid_nm, 1):
            yield _fault((*path, "span_nm"), "The span is shorter than the grid.")
        reached = zone.end_nm
    if reached != run.length_nm:
        yield _fault(("zones",), "The zones do not cover the run.", _ONE_BY_ONE)


def _piece_faults(run: Run, rules: PieceRules) -> Iterator[Fault]:
    longest_overlap = longest_overlap_nm(run, rules)
    if rules.piece_nm < longest_overlap + rules.grid_nm:
        yield _fault(
            ("rules", "piece_nm"),
            "A piece is no longer than its overlap.",
            "Allow at least one cut increment more than the longest overlap.",
        )
    if run.closed and longest_overlap >= run.length_nm:
        yield _fault(("length_nm",), "The loop is no longer than its overlap.")


_ONE_BY_ONE = "Give zones in order, each from the end of the last, from 0 to the run's length."


def _fault(path: Path, problem: str, remedy: str = "Give a length in nanometers.") -> Fault:
    return Fault(path=path, problem=problem, remedy=remedy)
