"""The description of the interface: whole, unique, and in the documentation."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from test_door import routes

from slowphase.analysis.document import document_schema
from slowphase.workbench.openapi import openapi_document
from slowphase.workbench.routers import ROUTERS

PAGE = Path(__file__).parents[2] / "docs" / "workbench.md"
ROW = re.compile(r"^\| `(GET|POST|PUT|DELETE) (/api/\S+?)(?:\?[^`]*)?` \|", re.MULTILINE)


def described():
    return {
        (method.upper(), path): told
        for path, ways in openapi_document()["paths"].items()
        for method, told in ways.items()
    }


def test_every_route_has_a_name_of_its_own_and_says_what_it_does():
    names = [told["operationId"] for told in described().values()]
    assert len(set(names)) == len(names)
    for told in described().values():
        assert told["description"]
        assert {"4XX", "5XX"} <= set(told["responses"])


def test_every_reference_leads_somewhere():
    document = openapi_document()
    known = set(document["components"]["schemas"])
    found = set(re.findall(r'"#/components/schemas/(\w+)"', json.dumps(document)))
    assert found <= known
    assert "$defs" not in json.dumps(document)
    assert "x-component" not in json.dumps(document)


def test_the_document_is_described_by_its_own_schema():
    parts = openapi_document()["components"]["schemas"]
    assert set(parts["Document"]["properties"]) == set(document_schema()["properties"])
    measure = document_schema()["$defs"]["measure"]
    assert set(parts["DocumentMeasure"]["properties"]) == set(measure["properties"])
    answer = parts["SessionAnswer"]["properties"]["document"]
    assert {"$ref": "#/components/schemas/Document"} in answer["anyOf"]


def test_every_call_is_described_as_needing_the_token():
    document = openapi_document()
    assert document["security"] == [{"token": []}]
    assert document["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
    assert document["openapi"].startswith("3.1")


def test_the_page_of_the_workbench_names_every_route_and_no_other():
    told = {(method, path) for method, path in ROW.findall(PAGE.read_text(encoding="utf-8"))}
    assert told == set(described())


def test_every_router_is_below_the_interface():
    assert len({id(router) for router in ROUTERS}) == len(ROUTERS)
    assert len(list(routes())) == sum(len(router.routes) for router in ROUTERS)
    assert all(path.startswith("/api/") for _, path in routes())


def test_the_description_is_printed_for_the_page_s_types():
    command = [sys.executable, "-m", "slowphase.workbench.openapi"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == json.loads(json.dumps(openapi_document()))


@pytest.mark.parametrize("name", ["FORMAT", "MEDIA_TYPE"])
def test_the_page_of_the_workbench_tells_the_format_of_traces(name):
    text = PAGE.read_text(encoding="utf-8")
    told = {"FORMAT": "little-endian", "MEDIA_TYPE": "application/vnd.slowphase.traces"}
    assert told[name] in text
