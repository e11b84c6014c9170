"""Where the files are that come with the service: the rules and the published contract."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).resolve().parent


def shipped(folder: str) -> Path:
    """Return the folder `rules` or `openapi`, of an installed package or of a checkout."""
    packed = _HERE / "_shipped" / folder
    return packed if packed.is_dir() else _HERE.parents[1] / folder
