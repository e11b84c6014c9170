"""Write `tests/golden/answers/` anew from the service as it is.

    python -m tests.golden.rewrite

It prints what it added, changed and removed; look at each change with `git diff tests/golden`
before it is committed: a figure that moved without a reason is a fault.
"""

from __future__ import annotations

import logging

import structlog

from tests.contract.ask import Service
from tests.golden.cases import ANSWERS, cases, record


def main() -> None:
    """Write every case, and remove the files of cases that there are no more."""
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    service = Service()
    ANSWERS.mkdir(exist_ok=True)
    before = {file.stem: file.read_text() for file in ANSWERS.glob("*.json")}
    after = {name: record(service, *case) for name, case in cases().items()}
    service.close()
    for name in sorted(before.keys() | after.keys()):
        file = ANSWERS / f"{name}.json"
        if name not in after:
            file.unlink()
            print("removed", name)
        elif before.get(name) != after[name]:
            file.write_text(after[name])
            print("changed" if name in before else "added", name)


if __name__ == "__main__":
    main()
