"""Courses and reference sets over the wire, with a real store."""

import time
from typing import get_args

import pytest
from starlette.testclient import TestClient

from slowphase.cli.demo_courses import COURSES, write_demo_course
from slowphase.course.events import KINDS
from slowphase.store import Store
from slowphase.workbench.app import create_app
from slowphase.workbench.shapes.courses import CourseEvent
from tests.own_reference_set import OWN_SET

TOKEN = "t" * 32
BY = {"by": "R. Doe"}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    folder = tmp_path_factory.mktemp("courses")
    store = Store.open(folder / "data")
    demo = write_demo_course(next(iter(COURSES)), folder)
    for session in sorted(path for path in demo.iterdir() if path.is_dir()):
        store.add_session(session, by="R. Doe")
    headers = {"Authorization": f"Bearer {TOKEN}", "Host": "127.0.0.1:8799"}
    app = create_app(store, TOKEN, port=8799)
    with TestClient(app, base_url="http://127.0.0.1:8799", headers=headers) as client:
        yield client
    store.close()


def awaited(client, answer):
    assert answer.status_code == 200, answer.text
    job = answer.json()
    for _ in range(1200):
        if job["state"] not in ("waiting", "running"):
            break
        time.sleep(0.05)
        job = client.get(f"/api/jobs/{job['id']}").json()
    return job


def the_patient(client):
    (patient,) = client.get("/api/patients").json()
    return patient


def test_a_course_is_followed_from_the_store_with_its_events(client):
    patient = the_patient(client)["id"]
    events = [{"date": "2026-03-20", "label": 'first "dose"', "kind": "dose"}]
    kept = client.put(f"/api/patients/{patient}/events", json={"events": events, **BY})
    assert kept.json() == {"events": events}
    job = awaited(client, client.post(f"/api/patients/{patient}/course", json={}))
    assert job["state"] == "done", job
    document = job["result"]["document"]
    assert len(document["sessions"]) == len(the_patient(client)["sessions"])
    assert document["events"] == events
    assert "first &#34;dose&#34;" in job["result"]["page"]


def test_a_course_that_runs_while_an_event_is_added_is_not_given_for_the_new_one(client):
    patient = the_patient(client)["id"]
    first = client.post(f"/api/patients/{patient}/course", json={}).json()["id"]
    events = [{"date": "2026-03-21", "label": "second dose", "kind": "dose"}]
    client.put(f"/api/patients/{patient}/events", json={"events": events, **BY})
    job = awaited(client, client.post(f"/api/patients/{patient}/course", json={}))
    assert job["id"] != first
    assert job["result"]["document"]["events"] == events


def test_the_last_event_can_be_removed(client):
    patient = the_patient(client)["id"]
    for events in ([{"date": "2026-03-21", "label": "dose", "kind": "dose"}], []):
        kept = client.put(f"/api/patients/{patient}/events", json={"events": events, **BY})
        assert (kept.status_code, kept.json()) == (200, {"events": events})


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01"])
def test_an_event_on_no_day_is_refused_and_nothing_is_lost(client, day):
    patient = the_patient(client)["id"]
    before = client.get(f"/api/patients/{patient}/events").json()
    wrong = {"events": [{"date": day, "label": "dose"}], **BY}
    answer = client.put(f"/api/patients/{patient}/events", json=wrong)
    assert answer.status_code == 422
    assert answer.json()["error"]["found"] == day
    assert client.get(f"/api/patients/{patient}/events").json() == before


def test_the_kinds_of_events_are_those_of_the_course():
    assert set(get_args(CourseEvent.model_fields["kind"].annotation)) == set(KINDS)


def test_retests_that_cannot_be_read_are_refused_with_their_line(client):
    answer = client.put("/api/retests", json={"text": "[retest]\nsource = 3\n", **BY})
    assert answer.status_code == 422
    assert answer.json()["error"]["problems"]
    assert client.get("/api/retests").json() == {"text": ""}


def test_a_set_is_looked_at_added_told_and_taken_out(client):
    asked = {"name": "our-own.toml", "text": OWN_SET}
    looked = client.post("/api/references/check", json=asked).json()
    assert [one["id"] for one in looked["sets"] if one["own"]] == ["our-own"]
    assert client.get("/api/references").json()["files"] == []
    added = client.post("/api/references", json={**asked, **BY}).json()
    (own,) = [one for one in added["sets"] if one["own"]]
    assert (own["source"], own["entries"][0]["values"]) == ("Own sessions, 2026", "0.6 ± 0.1 1")
    again = client.post("/api/references", json={**asked, **BY})
    assert again.status_code in (409, 422)
    removed = client.post(
        "/api/references/our-own.toml/remove", json={"reason": "wrong stimulus", **BY}
    ).json()
    assert removed["files"] == []
    assert not any(one["own"] for one in removed["sets"])


def test_a_set_that_the_order_names_is_not_taken_out_before_the_order_is(client):
    client.post("/api/references", json={"name": "our-own.toml", "text": OWN_SET, **BY})
    order = {"name": "references.toml", "text": 'prefer = ["our-own"]\n'}
    assert client.post("/api/references", json={**order, **BY}).json()["prefer"] == ["our-own"]
    why = {"reason": "wrong", **BY}
    refused = client.post("/api/references/our-own.toml/remove", json=why)
    assert refused.status_code == 422
    assert client.get("/api/references").json()["prefer"] == ["our-own"]
    for name in ("references.toml", "our-own.toml"):
        assert client.post(f"/api/references/{name}/remove", json=why).status_code == 200


def test_every_shipped_set_says_where_it_comes_from(client):
    sets = client.get("/api/references").json()["sets"]
    assert len(sets) > 5
    assert all(one["source"] and one["population"] and one["mark_words"] for one in sets)
    assert all(entry["label"] and entry["values"] for one in sets for entry in one["entries"])


def test_a_set_with_faults_is_refused_with_all_of_them(client):
    text = OWN_SET.replace("sd = 0.1", "sd = -0.1").replace("gain", "gian")
    answer = client.post("/api/references/check", json={"name": "x.toml", "text": text})
    assert answer.status_code == 422
    assert len(answer.json()["error"]["problems"]) >= 2


def test_own_intervals_are_made_of_sessions_in_the_store(client):
    ids = [session["id"] for session in the_patient(client)["sessions"]]
    asked = {"set_id": "own-2026", "sessions": ids}
    job = awaited(client, client.post("/api/references/build", json=asked))
    assert job["state"] == "done", job
    assert 'id = "own-2026"' in job["result"]["text"]
    assert job["result"]["page"].lstrip().lower().startswith("<!doctype html")
    missing = client.post("/api/references/build", json={"set_id": "x", "sessions": ["nothing"]})
    assert missing.status_code == 404


def test_retests_of_too_few_people_are_refused_with_how_many_are_needed(client):
    ids = [session["id"] for session in the_patient(client)["sessions"]]
    wanted = (ids * 4)[:4]
    job = awaited(client, client.post("/api/retests/build", json={"sessions": wanted}))
    assert job["state"] == "failed"
    assert any("10" in (p["expected"] or "") for p in job["error"]["problems"])
