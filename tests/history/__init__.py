"""Rule sets and price books in several versions: invented earlier ones beside those that ship.

The shipped folder has one version of each. Tests of versions, changes, and effective dates need
more, so this folder holds older files in the same format, with a ledger.
"""

from __future__ import annotations

import atexit
import shutil
import tempfile
from pathlib import Path

from gapwright.places import shipped

_HERE = Path(__file__).parent
_NO_RULES = shutil.ignore_patterns("*.py", "__pycache__")


def _build() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="gapwright-rules-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for source in (_HERE, shipped("rules")):
        shutil.copytree(source, folder, dirs_exist_ok=True, ignore=_NO_RULES)
    for name in ("ledger.txt", "prices/ledger.txt"):
        texts = [(source / name).read_text() for source in (_HERE, shipped("rules"))]
        (folder / name).write_text("".join(texts))
    return folder


RULES = _build()
"""A folder with every version, made once a process."""
