"""Canonical JSON: what the digests in a receipt are taken over.

Source: RFC 8785, "JSON Canonicalization Scheme (JCS)", June 2020: the sample of section 3.2.2 with
its bytes in 3.2.4, the sorting sample of 3.2.3, and the number samples of appendix B, all as
printed there. Read in secondary copies, which agree. Where the RFC prints no sample, the PyPI
library rfc8785 is the reference. Computed. No tolerance: the bytes must be the same.

Integers here keep to what a double holds exactly, up to 2^53 - 1 either way: RFC 7493 (I-JSON),
section 2.2, says that a sender cannot expect more, and rfc8785 refuses it. The last test shows
that a request with a larger one gets no digest.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import math
import struct
from datetime import date

import httpx
import pytest
import rfc8785
from gapwright.api.app import create_app
from gapwright.api.settings import Settings
from gapwright.canonical import canonical, canonical_request
from gapwright.quantity.output import encode
from gapwright.quantity.show import decimal
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.history import RULES as HISTORY

MOST = 2**53 - 1

SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50,
              2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
CANONICAL_SAMPLE = bytes.fromhex(
    "7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c226e"
    "756d62657273223a5b3333333333333333332e333333333333332c31652b3330"
    "2c342e352c302e3030322c31652d32375d2c22737472696e67223a22e282ac24"
    "5c75303030665c6e4127425c225c5c5c5c5c222f227d"
)

SORTING_SAMPLE = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\U0001f600": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
}
SORTED = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]

texts = st.text(max_size=30)
whole_numbers = st.integers(-MOST, MOST)
names = st.from_regex(r"[a-z_]{1,12}", fullmatch=True)
doubles = st.floats(allow_nan=False, allow_infinity=False)
shown_numbers = st.floats(-float(MOST), float(MOST)).map(decimal)
everyday_numbers = st.decimals("-20000", "20000", places=8).map(lambda d: decimal(float(d)))


def nested(leaves, keys):
    """Return values of JSON made of leaves, lists and objects."""
    return st.recursive(
        leaves,
        lambda inner: st.lists(inner, max_size=5) | st.dictionaries(keys, inner, max_size=5),
        max_leaves=15,
    )


def double(bits: str) -> float:
    """Return the double whose bits are written in hexadecimal."""
    return struct.unpack(">d", bytes.fromhex(bits))[0]


@settings(deadline=None)
@given(nested(st.none() | st.booleans() | texts | whole_numbers | shown_numbers, names))
def test_sorted_json_of_a_result_is_canonical(result):
    assert encode(result, "metric") == rfc8785.dumps(result)


@settings(deadline=None)
@given(st.lists(everyday_numbers | shown_numbers, min_size=1))
def test_the_numbers_of_a_result_are_written_canonically(numbers):
    assert encode(numbers, "metric") == rfc8785.dumps(numbers)


@settings(deadline=None)
@given(
    nested(
        st.none() | st.booleans() | texts | whole_numbers | doubles,
        texts | st.sampled_from(list(SORTING_SAMPLE)),
    )
)
@example(SORTING_SAMPLE)
def test_a_request_of_any_json_is_written_canonically(request):
    assert canonical_request(request) == rfc8785.dumps(request)


@settings(deadline=None, max_examples=500)
@given(
    nested(
        st.none() | st.booleans() | texts | whole_numbers | doubles,
        texts | st.sampled_from(list(SORTING_SAMPLE)),
    )
)
@example(SORTING_SAMPLE)
@example([0, -0.0, 1.0, 1e16, 5e-324, 4.35, MOST, -MOST])
def test_any_plain_data_are_written_canonically(data):
    assert canonical(data) == rfc8785.dumps(data)


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan, MOST + 1, -(2**53), 10**30])
@pytest.mark.parametrize("wrap", [lambda x: x, lambda x: [1, x], lambda x: {"a": {"b": x}}])
def test_a_number_that_no_double_holds_has_no_canonical_form(number, wrap):
    with pytest.raises(rfc8785.CanonicalizationError):
        rfc8785.dumps(wrap(number))
    with pytest.raises(rfc8785.CanonicalizationError):
        canonical(wrap(number))


def test_the_published_sample_comes_out_as_published():
    assert canonical_request(json.loads(SAMPLE)) == CANONICAL_SAMPLE
    assert canonical(json.loads(SAMPLE)) == CANONICAL_SAMPLE


def test_member_names_are_sorted_by_utf_16_code_units_as_published():
    for write in (canonical, canonical_request):
        assert list(json.loads(write(SORTING_SAMPLE)).values()) == SORTED


@pytest.mark.parametrize(("bits", "text"), NUMBERS)
def test_a_number_of_a_request_is_written_as_published(bits, text):
    assert canonical_request({"number": double(bits)}) == f'{{"number":{text}}}'.encode()


@pytest.mark.parametrize(
    ("bits", "text"), [(bits, text) for bits, text in NUMBERS if 1e-5 <= abs(double(bits)) <= MOST]
)
def test_a_number_of_a_result_is_written_as_published_up_to_its_six_decimals(bits, text):
    shown = decimal(double(bits))
    assert encode(shown, "metric") == rfc8785.dumps(shown)
    assert abs(float(text) - shown) <= 0.000_000_5


@pytest.mark.parametrize("code", [*range(0x20), 0x22, 0x2F, 0x5C, 0x7F, 0x80, 0x2028, 0xE000])
def test_a_character_is_escaped_only_where_the_scheme_says_so(code):
    """Section 3.2.2.2: short escapes where they exist, else lower-case hexadecimal, else as is."""
    short = {8: "\\b", 9: "\\t", 10: "\\n", 12: "\\f", 13: "\\r", 0x22: '\\"', 0x5C: "\\\\"}
    written = short.get(code) or (f"\\u{code:04x}" if code < 0x20 else chr(code))
    assert encode(chr(code), "metric") == f'"{written}"'.encode()
    assert canonical_request([chr(code)]) == f'["{written}"]'.encode()


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/v1/sizing", {"clearance": {"readings": ["4 1/2 in", "114.3 mm", "3 in", "4.4 in"]}}),
        ("/v1/sizing", {"units": "metric", "clearance": {"readings": ["13 in", "3 in"]}}),
        (
            "/v1/materials",
            {"perimeter": "27.4325 m", "strip_width": "8 in", "corners": 6, "units": "metric"},
        ),
        ("/v1/materials", {"perimeter": "6' 4 1/2″", "clearance": {"readings": ["½ in"]}}),
        ("/v1/suitability", {"roof_covering": "slate", "site": {"active_nest": True}}),
    ],
)
def test_the_receipt_of_an_answer_can_be_checked_with_the_reference_library(path, body):
    answer = post(path, json.dumps(body).encode())
    assert answer.status_code == 200
    receipt = answer.json()["receipt"]
    result = answer.json()["result"]
    assert receipt["request"] == sha256(rfc8785.dumps(body))
    assert receipt["result"] == sha256(rfc8785.dumps(result))


@pytest.mark.parametrize("corners", [MOST + 1, 2**60, 10**30, -(2**53)])
def test_a_request_with_an_integer_that_no_double_holds_gets_no_digest(corners):
    with pytest.raises(rfc8785.IntegerDomainError):
        rfc8785.dumps(corners)
    body = {"perimeter": "90 ft", "strip_width": "8 in", "corners": corners}
    answer = post("/v1/materials", json.dumps(body).encode())
    assert 400 <= answer.status_code < 500
    assert "receipt" not in answer.json()


APP = create_app(Settings(rules=HISTORY), today=lambda: date(2026, 7, 1))


def post(path: str, body: bytes) -> httpx.Response:
    """Return the answer to a JSON body, sent to the service in this process."""

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=APP)
        async with httpx.AsyncClient(transport=transport, base_url="http://service") as client:
            head = {"content-type": "application/json"}
            return await client.post(path, content=body, headers=head)

    return asyncio.run(send())


def sha256(canonical: bytes) -> str:
    """Return a digest as a receipt writes it."""
    return f"sha256:{hashlib.sha256(canonical).hexdigest()}"
