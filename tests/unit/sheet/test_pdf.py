"""The QR code says what the footer says."""

from __future__ import annotations

import re

import segno
from gapwright.sheet.pdf import qr_code

from tests.unit.sheet.jobs import RECEIPTS, rules, shown


def test_the_code_on_the_sheet_holds_the_rule_set_and_both_digests():
    text = f"{rules().name}\nrequest {RECEIPTS.request}\nresult {RECEIPTS.result}"
    assert shown("quote-house").data["code"] == qr_code(text)


def test_the_code_draws_the_modules_of_the_standard_s_symbol():
    """Against the matrix: what is drawn covers as many modules as the symbol has dark ones."""
    text = "baseline@1.2.0"
    dark = sum(map(sum, segno.make_qr(text, error="m").matrix))
    drawn = qr_code(text)
    path = re.findall(r'class="qrline"[^>]*d="([^"]+)"|d="([^"]+)"[^>]*class="qrline"', drawn)
    data = "".join(path[0])
    assert sum(int(run) for run in re.findall(r"h(\d+)", data)) == dark


def test_another_receipt_gives_another_code():
    assert qr_code("a") != qr_code("b")
