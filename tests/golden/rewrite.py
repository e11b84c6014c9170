"""Write `tests/golden/answers/` and `openapi/answers/` anew from the service as it is.

    python -m tests.golden.rewrite

It prints what it added, changed and removed; look at each change with `git diff tests/golden`
before it is committed: a figure that moved without a reason is a fault.
"""

from __future__ import annotations

import json
import logging

import structlog
from gapwright.calls.registry import CALLS

from tests.contract.ask import OPENAPI, Service
from tests.golden.cases import ANSWERS, cases, record


def main() -> None:
    """Write every case, and remove the files of cases that there are no more."""
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    service = Service()
    ANSWERS.mkdir(exist_ok=True)
    before = {file.stem: file.read_text() for file in ANSWERS.glob("*.json")}
    after = {name: record(service, *case) for name, case in cases().items()}
    for call in CALLS:
        for name in call.answers:
            answer = service.post(call.path, (OPENAPI / "examples" / f"{name}.json").read_bytes())
            text = json.dumps(answer.json(), indent=2, ensure_ascii=False)
            (OPENAPI / "answers" / f"{name}.json").write_text(f"{text}\n")
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
