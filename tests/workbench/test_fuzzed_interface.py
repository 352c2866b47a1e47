"""The interface under calls that nobody meant: no crash, no other shape, nothing leaks.

The calls are made from the interface's own description (schemathesis), with ids that exist mixed
in, so that they reach what is behind the first check.
"""

import json
import threading
from dataclasses import dataclass

import hypothesis
import pytest
import requests
import schemathesis
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from served import PASSPHRASE

from slowphase.store import SessionRow, Store
from slowphase.workbench.openapi import openapi_document
from slowphase.workbench.serving import Place, Server, take_place

CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
CALLS = 12  # for each route
SECRETS = (PASSPHRASE, "Traceback", "site-packages", "sqlalchemy")
ERROR = {"code", "message", "found", "expected", "problems"}


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory, folders):
    """A server that runs, with two patients, one of whom nothing is asked."""
    folder = tmp_path_factory.mktemp("fuzzed")
    store, place = Store.open(folder / "store"), take_place(0)
    server = Server.around(store, place)
    server.house.store.add_signer("A. Meyer", PASSPHRASE)
    rows = {name: store.add_session(folders[name], by="R. Doe") for name in ("odd", "raw")}
    for row in rows.values():
        server.house.room.measure_now(row.id, lambda *_: None)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [place.listening]})
    thread.start()
    with requests.Session() as calls:
        yield Fuzzed(server, calls, place, rows, str(folder))
    server.should_exit = True
    thread.join(10)
    place.listening.close()
    store.close()


@dataclass(frozen=True, slots=True)
class Fuzzed:
    server: Server
    calls: requests.Session
    place: Place
    rows: dict[str, SessionRow]
    folder: str


def whole_schema():
    return schemathesis.openapi.from_dict(json.loads(json.dumps(openapi_document())))


def operations():
    for found in whole_schema().get_all_operations():
        yield found.ok()


def with_known_ids(case, row, draw):
    """Put ids that exist in half of the places that take one."""
    known = {
        "session": row.id, "patient": row.patient, "trial": "a/b window",
        "name": "front", "entry": "1",
    }  # fmt: skip
    for name, value in known.items():
        if name in (case.path_parameters or {}) and draw(hypothesis.strategies.booleans()):
            case.path_parameters[name] = value
    return case


@pytest.mark.parametrize("operation", list(operations()), ids=lambda one: one.label)
def test_no_call_crashes_and_every_answer_has_the_shape_that_is_described(fuzzed, operation):
    address, calls = f"http://127.0.0.1:{fuzzed.place.port}", fuzzed.calls
    headers = {"Authorization": f"Bearer {fuzzed.place.token}"}
    secrets = (*SECRETS, fuzzed.place.token, fuzzed.folder)
    odd, raw = fuzzed.rows["odd"], fuzzed.rows["raw"]

    @hypothesis.settings(
        max_examples=CALLS, derandomize=True, deadline=None, database=None,
        suppress_health_check=list(hypothesis.HealthCheck),
    )  # fmt: skip
    @hypothesis.given(data=hypothesis.strategies.data())
    def call(data):
        modes = [schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE]
        mode = data.draw(hypothesis.strategies.sampled_from(modes))
        try:
            case = data.draw(operation.as_strategy(generation_mode=mode))
        except hypothesis.errors.InvalidArgument:
            return
        case = with_known_ids(case, odd, data.draw)
        answer = case.call(base_url=address, session=calls, headers=headers)
        case.validate_response(answer, checks=CHECKS)
        text = answer.content.decode("utf-8", "replace")
        assert not [secret for secret in secrets if secret in text]
        if operation.path.startswith("/api/sessions/") and case.path_parameters:
            assert "RAW-1" not in text or case.path_parameters["session"] == raw.id
        if answer.status_code >= 400:
            assert set(answer.json()["error"]) == ERROR

    call()


def test_after_all_that_the_store_is_whole(fuzzed):
    room, row = fuzzed.server.house.room, fuzzed.rows["raw"]
    assert fuzzed.server.house.store.check() == ()
    assert room.open(row.id).shown(room.wanted(row.id).key)
