"""Optional libraries stay unread, and are there again for those who use them."""

from __future__ import annotations

import subprocess
import sys


def run(code: str) -> str:
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return told.stdout.strip()


def test_the_service_starts_without_reading_numpy_or_shapely():
    code = (
        "import sys, service.serve; print(sorted({'numpy', 'shapely', 'rich'} & set(sys.modules)))"
    )
    assert run(code) == "[]"


def test_what_was_hidden_can_be_read_afterwards():
    code = "import service.quantity.units, numpy; print(numpy.arange(3).sum())"
    assert run(code) == "3"


def test_what_was_read_before_is_left_alone():
    code = "import numpy, sys, service.quantity.units; print(sys.modules['numpy'] is numpy)"
    assert run(code) == "True"
