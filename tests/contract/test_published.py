"""The contract: published as it is generated, valid, complete, and with examples that work."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from gapwright.api.envelope import BYTES
from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match
from litestar import Litestar
from schemathesis.specs.openapi.definitions import OPENAPI_31

from tests.contract.ask import (
    CONTRACT,
    EXAMPLES,
    FIRST,
    OPENAPI,
    OPERATIONS,
    POSTS,
    Service,
    value_at,
)
from tests.contract.documented import faults

UNDOCUMENTED = {
    "/",
    "/docs",
    "/problems/{name:str}",
    "/openapi.json",
    "/rulefile.schema.json",
    "/pricebook.schema.json",
    "/rules",
    "/rules/what-if",
    "/rules/{identifier:str}",
    "/rules/{identifier:str}/differences",
    "/rules/{identifier:str}/{version:str}",
}
"""Pages for people, the contract itself and the schemas of files: not part of the contract."""

SHOWN = [(path, name) for path, examples in EXAMPLES.items() for name in examples]
FILES = {path.stem: json.loads(path.read_bytes()) for path in (OPENAPI / "examples").glob("*.json")}


def test_the_committed_contract_is_what_the_command_prints():
    printed = subprocess.run(
        [sys.executable, "-m", "gapwright", "openapi"], check=True, capture_output=True
    ).stdout
    assert printed == (OPENAPI / "openapi.json").read_bytes(), (
        "Publish it: gapwright openapi > openapi/openapi.json"
    )


def test_the_service_serves_the_committed_contract(service: Service):
    served = service.ask("GET", "/openapi.json")
    assert served.content == (OPENAPI / "openapi.json").read_bytes()


def test_the_contract_is_valid_openapi():
    """Against the 3.1 schema of the OpenAPI Initiative, in the copy that schemathesis carries."""
    assert CONTRACT["openapi"].startswith("3.1.")
    fault = best_match(Draft202012Validator(OPENAPI_31).iter_errors(CONTRACT))
    assert fault is None, fault


@pytest.mark.parametrize("name", CONTRACT["components"]["schemas"])
def test_a_schema_is_valid_json_schema(name: str):
    Draft202012Validator.check_schema(CONTRACT["components"]["schemas"][name])


def test_every_reference_leads_somewhere_and_every_component_is_used():
    used = set(references(CONTRACT))
    for ref in used:
        value_at(CONTRACT, ref.removeprefix("#"))
    held = {
        f"#/components/{room}/{name}"
        for room, components in CONTRACT["components"].items()
        for name in components
    }
    assert held == used


def test_operations_have_names_of_their_own():
    names = [
        operation["operationId"]
        for item in CONTRACT["paths"].values()
        for operation in item.values()
    ]
    assert len(set(names)) == len(names)


def test_every_address_of_the_service_is_in_the_contract_and_the_other_way_round(
    service: Service,
):
    addresses = {re.sub(r":\w+}", "}", route.path) for route in litestar(service.app).routes}
    pages = {re.sub(r":\w+}", "}", path) for path in UNDOCUMENTED}
    assert pages <= addresses
    assert addresses - pages == set(CONTRACT["paths"])


@pytest.mark.parametrize("path", CONTRACT["paths"])
def test_an_address_takes_the_methods_of_the_contract_and_no_other(service: Service, path: str):
    told = service.ask("BREW", path).headers["allow"]
    assumed = {method.strip().lower() for method in told.split(",")} - {"head", "options"}
    assert assumed == set(CONTRACT["paths"][path])


@pytest.mark.parametrize("path", OPERATIONS)
def test_an_address_of_operations_answers(service: Service, path: str):
    assert service.ask("GET", path).status_code in (200, 302)


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_example_is_a_file_works_and_is_answered_as_documented(
    service: Service, path: str, name: str
):
    assert EXAMPLES[path][name] == FILES[name]
    answer = service.shown(path, name)
    assert answer.status_code == 200, answer.text
    documented = CONTRACT["paths"][path]["post"]["responses"]["200"]["content"]
    kind = answer.headers["content-type"].split(";")[0]
    if kind == "application/json":
        assert faults(answer.json(), documented[kind]["schema"]) == []
    else:
        assert kind in documented


@pytest.mark.parametrize("path", CONTRACT["paths"])
def test_an_example_answer_is_what_the_service_answers(service: Service, path: str):
    documented = CONTRACT["paths"][path].get("post", {}).get("responses", {}).get("200", {})
    content = documented.get("content", {}).get("application/json", {})
    for name, example in content.get("examples", {}).items():
        assert example["value"] == service.shown(path, name).json()
        assert example["value"] == json.loads((OPENAPI / "answers" / f"{name}.json").read_bytes())


def test_every_computing_call_says_how_it_is_explained(service: Service):
    docs = service.ask("GET", "/docs").text
    for path in ("sizing", "suitability", "materials", "layout", "quote"):
        operation = CONTRACT["paths"][f"/v1/{path}"]["post"]
        body = operation["requestBody"]["content"]
        form = value_at(CONTRACT, body["application/json"]["schema"]["$ref"].removeprefix("#"))
        assert "explanation" in form["properties"]["explain"]["description"]
        section = docs.split(f'<section aria-labelledby="{operation["operationId"]}">')[1]
        section = section.split("</section>")[0]
        assert "<code>explain</code>" in section
        assert "<code>explanation</code>" in section


SCHEMAS: dict[str, Any] = CONTRACT["components"]["schemas"]


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_can_be_read_by_client_generators(name: str):
    schema = SCHEMAS[name]
    assert schema["title"] == name
    assert re.fullmatch("[A-Z][A-Za-z]*", name)
    assert schema["description"]
    assert not {"oneOf", "anyOf", "allOf"} & set(schema)
    for member in schema.get("properties", {}).values():
        assert member["description"].endswith(".")
    for part in parts(schema):
        assert "default" not in part, "openapi-typescript requires a member that has one"
        assert part.get("items") is not False
        assert part.get("type") == "string" or "enum" not in part
        if part.get("type") == "object":
            assert "properties" in part or "additionalProperties" in part


def test_a_choice_of_words_is_written_once():
    choices = [tuple(p["enum"]) for one in SCHEMAS.values() for p in parts(one) if "enum" in p]
    assert sorted(set(choices)) == sorted(choices)


def test_every_operation_is_described_and_has_a_tag():
    tags = {tag["name"] for tag in CONTRACT["tags"] if tag["description"]}
    for item in CONTRACT["paths"].values():
        for operation in item.values():
            assert operation["summary"]
            assert operation["description"].endswith(".")
            assert set(operation["tags"]) <= tags
            assert re.fullmatch("[a-z]+(_[a-z]+)+", operation["operationId"])


@pytest.mark.parametrize("path", CONTRACT["paths"])
def test_what_is_not_json_is_also_sent_as_bytes_to_who_asks_for_it(service: Service, path: str):
    operation = CONTRACT["paths"][path].get("post", {})
    content = operation.get("responses", {}).get("200", {}).get("content", {})
    if BYTES not in content:
        return
    own = next(iter(content))
    declared, body = "application/json", FIRST.get(path)
    if body is None:
        (declared,) = operation["requestBody"]["content"]
        body = json.dumps(FIRST["/v1/quote"]).encode()
    answers = {}
    for accept in (own, "*/*", BYTES):
        headers = {"content-type": declared, "accept": accept}
        answers[accept] = service.ask("POST", path, body, headers)
        assert answers[accept].status_code == 200
    media_types = [answer.headers["content-type"].split(";")[0] for answer in answers.values()]
    assert media_types == [own, own, BYTES]
    assert len({answer.content for answer in answers.values()}) == 1


@pytest.mark.parametrize("name", FILES)
def test_an_example_file_is_in_the_document(name: str):
    assert name in {shown for _, shown in SHOWN}


@pytest.mark.parametrize(("path", "name"), SHOWN)
def test_an_example_fits_the_documented_request(path: str, name: str):
    body = CONTRACT["paths"][path]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert faults(EXAMPLES[path][name], body) == []


@pytest.mark.parametrize("path", POSTS)
def test_a_request_refuses_members_that_it_does_not_document(service: Service, path: str):
    body = CONTRACT["paths"][path]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert faults({"colour": "black"}, body)
    assert service.post(path, {"colour": "black"}).status_code == 422


@pytest.mark.parametrize("path", ["/livez", "/readyz"])
def test_operations_answer_as_documented(service: Service, path: str):
    documented = CONTRACT["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]
    answer = service.ask("GET", path)
    assert answer.status_code == 200
    assert faults(answer.json(), documented["schema"]) == []


def test_a_refusal_is_as_documented(service: Service):
    answer = service.post("/v1/materials", {"colour": 1, "perimeter": "four"})
    documented = CONTRACT["components"]["responses"]["422"]["content"]["application/problem+json"]
    assert faults(answer.json(), documented["schema"]) == []


def test_descriptions_are_flush_left():
    """Indented lines would be shown as code: descriptions are CommonMark."""
    texts = [text for text in descriptions(CONTRACT) if re.search(r"^(?: {4}|\t)", text, re.M)]
    assert texts == []


def test_every_kind_of_problem_has_a_page_and_nothing_else_does(service: Service):
    refused = service.ask("POST", "/v1/sizing", b"{}").json()
    assert service.ask("GET", refused["type"]).status_code == 200
    assert service.ask("GET", "/problems/another").status_code == 404


def test_pages_need_no_other_server(service: Service):
    for path in ("/docs", "/problems/not-found"):
        page = service.ask("GET", path)
        assert page.headers["content-type"] == "text/html; charset=utf-8"
        assert re.findall(r'(?:src|href)="(?:https?:)?//[^"]*"', page.text) == []


def litestar(app: Any) -> Litestar:
    while not isinstance(app, Litestar):
        app = app.app
    return app


def references(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        if isinstance(value.get("$ref"), str):
            yield value["$ref"]
        for item in value.values():
            yield from references(item)
    elif isinstance(value, list):
        for item in value:
            yield from references(item)


def parts(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield a schema and the schemas in it."""
    if isinstance(schema, dict):
        yield schema
        inside = [*schema.get("properties", {}).values(), *schema.get("anyOf", ())]
        inside += [schema.get(at) for at in ("items", "additionalProperties", "propertyNames")]
        for one in inside:
            yield from parts(one)


def descriptions(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        if isinstance(value.get("description"), str):
            yield value["description"]
        for item in value.values():
            yield from descriptions(item)
    elif isinstance(value, list):
        for item in value:
            yield from descriptions(item)
