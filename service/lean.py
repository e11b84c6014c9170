"""Read libraries in without the optional ones that they would bring along unused.

pint reads numpy in wherever it is installed, and structlog reads rich: together a fifth of the time
that the service takes to start.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without(*names: str) -> Iterator[None]:
    """Let modules of these names look as if not installed, unless they were read in before."""
    hidden = [name for name in names if name not in sys.modules]
    for name in hidden:
        sys.modules[name] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]
