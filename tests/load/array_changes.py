"""Many random arrays, each described in several ways, and what that must not change.

By hand from the top: python -m tests.load.array_changes --arrays 1000 [--first 0]. Prints each
difference with its seed; ends with status 1 if there was any. The short form is in
tests/outside/libraries.
"""

from __future__ import annotations

import argparse
import sys
from typing import Any

from tests.contract.ask import Service
from tests.outside.libraries.array_changes import difference, random_plane, unit_difference
from tests.unit.make import baseline


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--arrays", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    service = Service()

    def ask(body: dict[str, Any]) -> Any:
        return service.post("/v1/layout", body).json()["result"]

    differing = 0
    for seed in range(asked.first, asked.first + asked.arrays):
        plane = random_plane(seed)
        found = [difference(plane, seed, baseline()), unit_difference(plane, ask)]
        for text in filter(None, found):
            differing += 1
            print(f"{seed}: {text}", flush=True)
    service.close()
    print(f"{asked.arrays} arrays, {differing} differences")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
