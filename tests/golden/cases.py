"""Whole requests and answers, as they are kept in `answers/` and compared exactly."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.contract.ask import ENVELOPED, EXAMPLES, Service

HERE = Path(__file__).parent
ANSWERS = HERE / "answers"
REQUESTS = HERE / "requests"
KEPT_HEADERS = ("content-type", "gapwright-ruleset", "gapwright-ruleset-digest")


def cases() -> dict[str, tuple[str, Any]]:
    """Return path and request of each case: the published examples, and those in `requests/`.

    A file of `requests/` is named after what is asked of which call: `sizing.loose.json`.
    """
    shown = {
        name: (path, request) for path in ENVELOPED for name, request in EXAMPLES[path].items()
    }
    own = {
        file.stem: (f"/v1/{file.stem.split('.')[0]}", json.loads(file.read_bytes()))
        for file in sorted(REQUESTS.glob("*.json"))
    }
    return shown | own


def record(service: Service, path: str, request: Any) -> str:
    """Return request and answer of a case as the text of its file."""
    answer = service.post(path, request)
    whole = {
        "call": f"POST {path}",
        "request": request,
        "status": answer.status_code,
        "headers": {name: answer.headers[name] for name in KEPT_HEADERS if name in answer.headers},
        "answer": answer.json(),
    }
    return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"
