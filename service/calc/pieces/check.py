"""What is wrong with a run or its rules, all of it at once."""

from __future__ import annotations

from collections.abc import Iterator

from service.calc.pieces.run import PieceRules, Run
from service.calc.pieces.zones import longest_lap_nm
from service.errors import BadInputError, Fault

Path = tuple[str | int, ...]


def check(run: Run, rules: PieceRules) -> None:
    """Raise BadInputError with every fault of a run and its rules."""
    faults = [*_rule_faults(rules), *_zone_faults(run, rules), *_place_faults(run)]
    if run.length_nm <= 0:
        faults.insert(0, _fault(("length_nm",), "The run has no length."))
    if not faults:
        faults += _piece_faults(run, rules)
    if faults:
        raise BadInputError(faults)


def _rule_faults(rules: PieceRules) -> Iterator[Fault]:
    if rules.grid_nm <= 0:
        yield _fault(("rules", "grid_nm"), "The grid has no length.")
    if rules.piece_nm <= 0:
        yield _fault(("rules", "piece_nm"), "A piece has no length.")
    if not 0 <= rules.least_piece_nm <= rules.piece_nm:
        yield _fault(
            ("rules", "least_piece_nm"), "The least piece is not between 0 and the whole piece."
        )
    for name in ("most_lap_nm", "cut_weight_nm", "return_weight_nm"):
        if getattr(rules, name) < 0:
            yield _fault(("rules", name), "The length is below 0.")


def _zone_faults(run: Run, rules: PieceRules) -> Iterator[Fault]:
    reached = 0
    for number, zone in enumerate(run.zones):
        path = ("zones", number)
        if zone.start_nm != reached or zone.end_nm <= zone.start_nm:
            yield _fault(path, "The zone does not follow on the one before.", _ONE_BY_ONE)
        if zone.lap_nm <= 0:
            yield _fault((*path, "lap_nm"), "The lap has no length.")
        if zone.span_nm is not None and zone.span_nm < max(rules.grid_nm, 1):
            yield _fault((*path, "span_nm"), "The span is shorter than the grid.")
        reached = zone.end_nm
    if reached != run.length_nm:
        yield _fault(("zones",), "The zones do not cover the run.", _ONE_BY_ONE)


def _place_faults(run: Run) -> Iterator[Fault]:
    last = run.length_nm - 1 if run.closed else run.length_nm
    for number, tab in enumerate(run.tabs_nm):
        if not 0 <= tab <= last:
            yield _fault(("tabs_nm", number), "The tab is not on the run.")
    for number, point in enumerate(run.keep_off):
        if not 0 <= point.at_nm <= run.length_nm:
            yield _fault(("keep_off", number, "at_nm"), "The point is not on the run.")
        if point.distance_nm < 0:
            yield _fault(("keep_off", number, "distance_nm"), "The distance is below 0.")
    for number, reach in enumerate(run.reaches):
        furthest = reach.start_nm + run.length_nm if run.closed else run.length_nm
        if not 0 <= reach.start_nm <= last or not reach.start_nm <= reach.end_nm <= furthest:
            yield _fault(("reaches", number), "The stretch is not on the run.")
        if reach.return_nm <= 0:
            yield _fault(("reaches", number, "return_nm"), "The return has no length.")
    for number, start in enumerate(run.starts_nm):
        if not 0 <= start <= run.length_nm:
            yield _fault(("starts_nm", number), "The start is not on the run.")


def _piece_faults(run: Run, rules: PieceRules) -> Iterator[Fault]:
    longest_lap = longest_lap_nm(run, rules)
    if rules.piece_nm < longest_lap + rules.grid_nm:
        yield _fault(
            ("rules", "piece_nm"),
            "A piece is no longer than its lap.",
            "Allow at least one mark of the tape more than the longest lap.",
        )
    if run.closed and longest_lap >= run.length_nm:
        yield _fault(("length_nm",), "The loop is no longer than its lap.")


_ONE_BY_ONE = "Give zones in order, each from the end of the last, from 0 to the run's length."


def _fault(path: Path, problem: str, remedy: str = "Give a length in nanometres.") -> Fault:
    return Fault(path=path, problem=problem, remedy=remedy)
