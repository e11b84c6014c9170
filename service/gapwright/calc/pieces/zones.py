"""How overlap and span change along a run: the stricter counts where one touches two zones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gapwright.calc.pieces.run import PieceRules, Run

Ints = npt.NDArray[np.int64]


def rounded_up(length_nm: int, grid_nm: int) -> int:
    """Return a length rounded up to whole increments [nm]."""
    return -(-length_nm // grid_nm) * grid_nm


def longest_overlap_nm(run: Run, rules: PieceRules) -> int:
    """Return the longest least overlap of a run's zones, in whole increments [nm]."""
    return max(rounded_up(zone.overlap_nm, rules.grid_nm) for zone in run.zones)


class ZoneMap:
    """The zones of a run as seen from one place on it, over and over again on a closed run."""

    def __init__(self, run: Run, from_nm: int) -> None:
        # a closed run is looked at from a place before the start to the reach of its far end
        turns = range(-1, 5) if run.closed else range(1)
        length = run.length_nm
        parts = [
            (zone.start_nm + turn * length - from_nm, zone, turn)
            for turn in turns
            for zone in run.zones
        ]
        self.starts = np.array([start for start, _, _ in parts], np.int64)
        self.ends = np.append(self.starts[1:], parts[-1][1].end_nm + turns[-1] * length - from_nm)
        self.overlaps = np.array([zone.overlap_nm for _, zone, _ in parts], np.int64)
        # no limit is written as twice the run, which is beyond any distance on it
        far = 2 * length
        self.spans = np.array([min(zone.span_nm or far, far) for _, zone, _ in parts], np.int64)

    def overlap(self, start_nm: Ints, end_nm: Ints, grid_nm: int) -> Ints:
        """Return the least overlap between two places by all zones that it touches [nm].

        It is the longest one asked for, in multiples of the grid.
        """
        first = np.searchsorted(self.ends, start_nm, "right")
        last = np.maximum(np.searchsorted(self.starts, end_nm, "left") - 1, first)
        overlaps = -(-self.overlaps // grid_nm) * grid_nm
        first, last = np.minimum(first, len(overlaps) - 1), np.minimum(last, len(overlaps) - 1)
        found = overlaps[first]
        for step in range(1, int((last - first).max(initial=0)) + 1):
            found = np.maximum(found, overlaps[np.minimum(first + step, last)])
        return found

    def reach(self, at_nm: Ints) -> Ints:
        """Return the farthest place of the next fixing after one at each place [nm]."""
        zone = np.maximum(np.searchsorted(self.starts, at_nm, "right") - 1, 0)
        span, found = self.spans[zone], at_nm + self.spans[zone]
        open_ = (found > self.ends[zone]) & (zone + 1 < len(self.spans))
        while open_.any():
            # the zone is left: go on by the stricter span, or stop where that one begins
            following = np.minimum(zone + 1, len(self.spans) - 1)
            stricter = np.minimum(span, self.spans[following])
            stopped = open_ & (at_nm + stricter <= self.ends[zone])
            found = np.where(stopped, self.ends[zone], np.where(open_, at_nm + stricter, found))
            open_ &= ~stopped
            zone, span = np.where(open_, following, zone), np.where(open_, stricter, span)
            open_ &= (found > self.ends[zone]) & (zone + 1 < len(self.spans))
        return found
