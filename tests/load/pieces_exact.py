"""Many random runs of pieces against the exact model and the validator.

By hand from the top: python -m tests.load.pieces_exact --runs 1000 [--first 0]. A run takes about
half a second, most of it in HiGHS. Prints each disagreement with its seed, then what the runs
were; ends with status 1 if there was any. tests/outside/libraries has the short form.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter

from gapwright.calc.pieces import PieceRules, Run, lay_pieces

from tests.outside.libraries.pieces_runs import random_case
from tests.outside.libraries.pieces_validator import disagreement


def kind(run: Run, rules: PieceRules) -> str:
    """Return what a run is like, in words."""
    layout = lay_pieces(run, rules)
    words = [
        "closed" if run.closed else "open",
        "with tabs" if run.tabs_nm else "without tabs",
        "of several zones" if len(run.zones) > 1 else "of one zone",
    ]
    words += ["crowded"] if layout.conflicts else []
    words += ["unsupported in part"] if layout.overlong else []
    return " ".join(words)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    kinds: Counter[str] = Counter()
    differing = 0
    for seed in range(asked.first, asked.first + asked.runs):
        run, rules = random_case(seed)
        found = disagreement(run, rules)
        kinds[kind(run, rules)] += 1
        if found:
            differing += 1
            print(f"{seed}: {found}", flush=True)
    for words, count in sorted(kinds.items()):
        print(f"{count:6} {words}")
    print(f"{asked.runs} runs, {differing} differ")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
