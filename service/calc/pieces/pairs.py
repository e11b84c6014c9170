"""Pairs of marks in one gap and how far apart they are, for all of its marks at once."""

from __future__ import annotations

from service.calc.pieces.gaps import Gap
from service.calc.pieces.limits import limits
from service.calc.pieces.marks import between, ones
from service.calc.pieces.track import Track


class Pairs:
    """Pairs of marks in one gap, as sets of the first mark of each.

    `starts` holds, by lap, the returns that are not yet secure and have a span to keep;
    `farthest` is how many marks on any next fixing may be from them.
    """

    def __init__(self, track: Track, gap: Gap) -> None:
        self.track, self.gap = track, gap
        self.count = gap.end - gap.first
        self.plain = {lap: self._part(marks) for lap, marks in track.plain.items()}
        self.returns = {key: self._part(marks) for key, marks in track.returns.items()}
        self.seams = self._seams()
        self._all = [ones(self.count)]
        self.spans = self._spans()
        self.starts = self._starts()
        widest = max((span for _, span in self.spans), default=0)
        marks_apart = (widest + len(self.seams) * track.seam_nm) // track.grid_nm
        self.farthest = min(self.count - 1, marks_apart)
        self._in_span: dict[int, int] = {}

    def apart(self, first: int, second: int, low_nm: int, high_nm: int) -> int:
        """Return the marks whose `first` and `second` next are from `low_nm` to `high_nm` apart."""
        distance = (second - first) * self.track.grid_nm
        if not self.seams:
            return ones(self.count) if low_nm <= distance <= high_nm else 0
        found = 0
        for passed, from_here in enumerate(self.sides(first)):
            for turns, there in enumerate(self.sides(second)[passed:]):
                if low_nm <= distance - turns * self.track.seam_nm <= high_nm:
                    found |= from_here & there
        return found

    def sides(self, onward: int) -> list[int]:
        """Return the marks by the number of origins passed on the way to the mark `onward` on."""
        if not self.seams:
            return self._all
        bounds = [max(seam - onward, 0) for seam in self.seams]
        return [
            between(low, high - 1)
            for low, high in zip([0, *bounds], [*bounds, self.count], strict=True)
        ]

    def in_span(self, apart: int) -> int:
        """Return the marks from which the span rule lets the next fixing be `apart` marks on."""
        found = self._in_span.get(apart)
        if found is None:
            found = 0
            for marks, span in self.spans:
                found |= marks & self.apart(0, apart, 0, span)
            self._in_span[apart] = found
        return found

    def _part(self, marks: int) -> int:
        return self.track.part(marks, self.gap.first, self.count)

    def _spans(self) -> list[tuple[int, int]]:
        """Return the marks not yet secure that have a span to keep, by that span."""
        first, end = self.gap.first, min(self.gap.secure, self.gap.end)
        return [
            (between(limit.first - first, limit.last - first), limit.span_nm)
            for limit in (limits(self.track, first, end) if end > first else ())
            if limit.span_nm is not None
        ]

    def _starts(self) -> dict[int, int]:
        spanning = 0
        found: dict[int, int] = {}
        for marks, _ in self.spans:
            spanning |= marks
        for (lap, _), marks in self.returns.items():
            if marks & spanning:
                found[lap] = found.get(lap, 0) | marks & spanning
        return found

    def _seams(self) -> list[int]:
        track, gap = self.track, self.gap
        if not track.seam_nm or not track.run.closed:
            return []
        turns = range(gap.first // track.count + 1, (gap.end - 1) // track.count + 1)
        return [turn * track.count - gap.first for turn in turns]
