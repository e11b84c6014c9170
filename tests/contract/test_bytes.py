"""Bodies that are no strict JSON, or JSON of the wrong kind: refused plainly, never failed."""

from __future__ import annotations

import json
import time

import pytest

from tests.contract.ask import FIRST, POSTS, Service, pointers, problem_of

SIZING = b'{"clearance":{"readings":[%b]}}'
GOOD = SIZING % b'"4 1/2 in"'

NOT_JSON = {
    "empty": b"",
    "white space": b" \r\n\t",
    "a NUL": b"\x00",
    "broken UTF-8 in a text": SIZING % b'"4 1/2 \xff in"',
    "broken UTF-8 in a name": b'{"\xc3(":1}',
    "an overlong slash": SIZING % b'"1\xc0\xaf2 in"',
    "a surrogate in UTF-8": SIZING % b'"\xed\xa0\x80"',
    "a cut character": GOOD[:-2] + b"\xe2\x82",
    "UTF-16": GOOD.decode().encode("utf-16"),
    "UTF-16, little end first": GOOD.decode().encode("utf-16-le"),
    "UTF-32": GOOD.decode().encode("utf-32"),
    "a byte order mark": b"\xef\xbb\xbf" + GOOD,
    "a lone high surrogate": SIZING % b'"\\ud800"',
    "a lone low surrogate": SIZING % b'"\\udc00 in"',
    "surrogates in the wrong order": SIZING % b'"\\udc00\\ud800"',
    "a lone surrogate in a name": b'{"\\ud800":1}',
    "a control character in a text": SIZING % b'"4\x01in"',
    "a line break in a text": SIZING % b'"4\nin"',
    "NaN": SIZING % b"NaN",
    "Infinity": SIZING % b"Infinity",
    "minus Infinity": SIZING % b"-Infinity",
    "1e400": SIZING % b"1e400",
    "minus 1e400": SIZING % b"-1e400",
    "an integer of 5,000 digits": SIZING % (b"9" * 5000),
    "a fraction of 5,000 digits": SIZING % (b"9" * 5000 + b".5"),
    "a leading zero": SIZING % b"04",
    "a leading plus": SIZING % b"+4",
    "a bare point": SIZING % b".5",
    "hexadecimal": SIZING % b"0x10",
    "single quotes": b"{'clearance':1}",
    "a bare name": b"{clearance:1}",
    "a comment": b"/* clearance */" + GOOD,
    "a trailing comma": SIZING % b'"4 in",',
    "two values": GOOD + GOOD,
    "something after the end": GOOD + b";",
    "a body cut short": GOOD[:-5],
    "a form": b"clearance=4",
    "XML": b"<clearance/>",
    "zipped": b"\x1f\x8b\x08\x00" + bytes(20),
}

REPEATED = {
    "at the top": (
        b'{"clearance":{"readings":["4 in"]},"clearance":{"readings":["5 in"]}}',
        "clear",
    ),
    "inside": (b'{"clearance":{"readings":["4 in"],"readings":["5 in"]}}', "readings"),
    "with the same value": (b'{"units":null,"units":null,' + GOOD[1:], "units"),
    "spelled with an escape": (b'{"clearance":{"readings":["4 in"],"re\\u0061dings":[]}}', "read"),
    "in an unknown member": (b'{"colour":{"a":1,"a":2},' + GOOD[1:], "'a'"),
    "in a list": (b'{"colour":[[{"a":1,"a":2}]],' + GOOD[1:], "'a'"),
    "the empty name": (b'{"":1,"":2,' + GOOD[1:], "''"),
}

OTHER_KINDS = {
    "a list": b"[]",
    "a text": b'"4 in"',
    "null": b"null",
    "a number": b"4",
    "true": b"true",
}


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("name", NOT_JSON)
def test_what_is_no_json_is_refused_in_plain_words(service: Service, path: str, name: str):
    found = problem_of(service.post(path, NOT_JSON[name]), 400)
    assert found["type"] == "/problems/invalid-json"
    assert not any(word in found["detail"] for word in ("codec", "$[", "utf-16", "sys."))
    assert "errors" not in found


def test_an_empty_body_is_called_empty(service: Service):
    assert "empty" in problem_of(service.post("/v1/sizing", b""), 400)["detail"]


@pytest.mark.parametrize("name", [name for name in NOT_JSON if "lone" in name])
def test_a_lone_surrogate_is_not_called_a_body_cut_short(service: Service, name: str):
    assert "truncated" not in problem_of(service.post("/v1/sizing", NOT_JSON[name]), 400)["detail"]


@pytest.mark.parametrize("name", REPEATED)
def test_a_member_that_stands_twice_is_refused_and_named(service: Service, name: str):
    body, shown = REPEATED[name]
    assert shown in problem_of(service.post("/v1/sizing", body), 400)["detail"]


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("name", OTHER_KINDS)
def test_json_that_is_no_object_is_refused_as_a_whole(service: Service, path: str, name: str):
    assert set(pointers(service.post(path, OTHER_KINDS[name]), "")) == {""}


@pytest.mark.parametrize("opened", [b"[", b'{"a":', b'{"clearance":{"readings":', b'[{"a":'])
def test_no_depth_of_nesting_breaks_the_service(service: Service, opened: bytes):
    closed = {b"[": b"]", b"{": b"}"}
    close = b"".join(closed[bytes([sign])] for sign in reversed(opened) if bytes([sign]) in closed)
    for depth in (*range(50, 1300, 50), 100_000):
        for body in (opened * depth + b"1" + close * depth, opened * depth):
            assert service.post("/v1/sizing", body).status_code in (400, 413, 422), depth


@pytest.mark.parametrize("depth", [1_000, 100_000])
def test_a_body_that_is_nested_too_deep_is_told_so(service: Service, depth: int):
    body = b"[" * depth + b"]" * depth
    assert "nested" in problem_of(service.post("/v1/sizing", body), 400)["detail"]


@pytest.mark.parametrize("path", POSTS)
def test_white_space_and_escapes_change_nothing(service: Service, path: str):
    plain = service.post(path, FIRST[path])
    spaced = json.dumps(FIRST[path], indent=8).replace("i", "\\u0069").encode()
    assert service.post(path, b"\r\n\t " + spaced + b"\n").content == plain.content


def test_many_members_of_which_the_last_repeats_are_refused_at_once(service: Service):
    """Looking each name up in a list of those before it would take half a minute."""
    names = b",".join(b'"m%d":0' % n for n in range(50_000))
    started = time.perf_counter()
    problem_of(service.post("/v1/sizing", b"{" + names + b',"m49999":1}'), 400)
    assert time.perf_counter() - started < 2


@pytest.mark.parametrize(
    "body",
    [
        b'{"%b":0}' % (b"m" * 1_900_000),
        b'{"units":"%b"}' % (b"imperia" * 250_000),
        b'{"ruleset":"%b"}' % (b"x" * 1_900_000),
        SIZING % (b'"' + b"9" * 1_900_000 + b' in"'),
        SIZING % (b'"' + "½".encode() * 900_000 + b' in"'),
        SIZING % b",".join([b'"four"'] * 200_000),
        b"{" + b",".join(b'"m%d":0' % n for n in range(150_000)) + b"}",
    ],
    ids=["name", "choice", "ruleset", "digits", "fractions", "readings", "members"],
)
def test_a_huge_body_is_refused_at_once_and_in_few_words(service: Service, body: bytes):
    started = time.perf_counter()
    named = "" if b'"ruleset"' in body else None
    told = pointers(service.post("/v1/sizing", body), named)
    assert time.perf_counter() - started < 2
    assert max(map(len, told.values())) < 500
