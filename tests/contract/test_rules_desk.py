"""The rules desk: pages that hold together, run nothing, and obey no stranger."""

from __future__ import annotations

import re
from itertools import pairwise
from urllib.parse import quote, urlencode

import pytest

from tests.contract.ask import Service, problem_of
from tests.contract.markup import parsed
from tests.contract.rules_pages import (
    BROWSER,
    NAMES,
    OLD,
    PAGES,
    address,
    differences_address,
    read,
)


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_well_put_together(service: Service, path: str):
    page = read(service, path)
    assert page.one("html").attributes["lang"] == "en"
    assert page.one("title").text
    for landmark in ("header", "main", "footer", "h1"):
        page.one(landmark)
    levels = [int(node.tag[1]) for node in page.all("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = [node.attributes["id"] for node in page.all() if "id" in node.attributes]
    assert len(set(ids)) == len(ids)
    for node in page.all():
        for name in ("aria-labelledby", "aria-describedby", "for", "list"):
            for wanted in node.attributes.get(name, "").split():
                assert wanted in ids, f"{name} leads to {wanted}"


@pytest.mark.parametrize("path", PAGES)
def test_everything_is_named_for_those_who_do_not_see_it(service: Service, path: str):
    page = read(service, path)
    labelled = {label.attributes["for"] for label in page.all("label")}
    for field in page.all("input", "select", "textarea"):
        assert field.attributes["id"] in labelled
        assert field.attributes["name"]
    for table in page.all("table"):
        assert {"col"} == {cell.attributes.get("scope") for cell in table.one("thead").all("th")}
        assert {"row"} == {cell.attributes.get("scope") for cell in table.one("tbody").all("th")}
    for region in page.all("div"):
        if region.attributes.get("class") == "wide":
            assert region.attributes["tabindex"] == "0"
            assert region.attributes.get("aria-label") or region.attributes["aria-labelledby"]


@pytest.mark.parametrize("path", PAGES)
def test_nothing_comes_from_elsewhere_and_nothing_runs(service: Service, path: str):
    for node in read(service, path).all():
        assert node.tag not in ("script", "img", "link", "iframe", "object", "base")
        assert not any(name.startswith("on") or name == "style" for name in node.attributes)
        for name in ("href", "src", "action"):
            assert re.fullmatch(r"(/(?!/)|#).*|", node.attributes.get(name, "")), node.attributes
    policy = service.ask("GET", path, headers=BROWSER).headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "form-action 'self'" in policy


def test_every_link_leads_somewhere_and_every_anchor_is_there(service: Service):
    known: dict[str, set[str]] = {}
    waiting = [("/rules", "")]
    while waiting:
        path, fragment = waiting.pop()
        if path not in known:
            answer = service.ask("GET", path, headers=BROWSER)
            assert answer.status_code == 200, path
            known[path] = set()
            if answer.headers["content-type"].startswith("text/html"):
                page = parsed(answer.text)
                known[path] = {n.attributes["id"] for n in page.all() if "id" in n.attributes}
                for link in page.all("a"):
                    to, _, place = link.attributes["href"].partition("#")
                    waiting.append((to or path, place))
        assert not fragment or fragment in known[path], f"{path}#{fragment}"
    assert {"/rules/what-if", *(address(name) for name in NAMES)} <= set(known)


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</textarea><script>alert(1)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "' onfocus='alert(1)",
    "\x00\x1b[31m\u202e",
    "&lt;b&gt;",
)


@pytest.mark.parametrize("text", HOSTILE)
def test_what_a_stranger_types_is_shown_and_never_obeyed(service: Service, text: str):
    query = {"call": text, "before": text, "after": text, "job": text}
    shown = {"job": "", "before": "value", "after": "value"}
    for path, fields in (
        (f"/rules?{urlencode({'q': text})}", {"q": "value"}),
        (f"/rules/what-if?{urlencode(query)}", shown),
        (differences_address(OLD, f"{text.replace('@', '')}@1"), {"to_id": "value"}),
    ):
        page = parsed(service.ask("GET", path, headers=BROWSER).text)
        assert [n.tag for n in page.all("script", "img", "b")] == []
        assert not any(name.startswith("on") for n in page.all() for name in n.attributes)
        for field, attribute in fields.items():
            node = page.by_id(field)
            found = node.attributes[attribute] if attribute else node.raw.removeprefix("\n")
            assert found == text


@pytest.mark.parametrize("text", HOSTILE[:5])
def test_an_address_that_names_nothing_is_refused_in_plain_words(service: Service, text: str):
    part = quote(text, safe="")
    for path in (f"/rules/{part}", f"/rules/{part}/1.0.0", f"/rules/{OLD.split('@')[0]}/{part}"):
        answer = service.ask("GET", path, headers=BROWSER)
        assert answer.status_code == 404
        if answer.headers["content-type"].startswith("text/html"):
            page = parsed(answer.text)
            assert [n.tag for n in page.all("script", "img")] == []


def test_a_refusal_is_a_page_for_a_reader_and_a_problem_document_for_a_program(service: Service):
    for path in ("/rules/nobody", "/rules/nobody/1.0.0", address(OLD).rsplit("/", 1)[0] + "/9.9.9"):
        told = problem_of(service.ask("GET", path), 404)
        answer = service.ask("GET", path, headers=BROWSER)
        assert answer.status_code == 404
        assert answer.headers["cache-control"] == "no-cache"
        page = parsed(answer.text)
        assert page.one("h1").text == told["title"]
        assert told["detail"] in page.text


@pytest.mark.parametrize("path", [*dict.fromkeys(page.split("?")[0] for page in PAGES)])
def test_a_query_that_is_not_known_is_refused(service: Service, path: str):
    refused = problem_of(service.ask("GET", f"{path}?colour=black"), 422, "")
    assert refused["errors"] == [
        {"pointer": "/colour", "detail": "Unknown query parameter. Remove it."}
    ]
