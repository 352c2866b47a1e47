"""Strange files over the wire: sent, described, corrected, looked at, made a session."""

import time

import numpy as np
import polars as pl
import pytest
from starlette.testclient import TestClient

from slowphase.cli.demo_sessions import PATIENTS, demo_table, write_demo_session
from slowphase.store import Store
from slowphase.workbench.app import create_app
from tests.recording.chair_motions import RATE_HZ, clock, rest, sinusoid, spin
from tests.workbench.decoding import decoded_window

TOKEN = "t" * 32
BY = {"by": "R. Doe"}


@pytest.fixture
def client(tmp_path):
    store = Store.open(tmp_path / "data")
    headers = {"Authorization": f"Bearer {TOKEN}", "Host": "127.0.0.1:8799"}
    app = create_app(store, TOKEN, port=8799)
    with TestClient(app, base_url="http://127.0.0.1:8799", headers=headers) as client:
        yield client
    store.close()


def export(head):
    slow = np.cumsum(-0.6 * head) / RATE_HZ
    eye = (slow + 10.0) % 20.0 - 10.0 + np.random.default_rng(1).normal(0.0, 0.02, head.size)
    table = {"Zeit": 1000.0 * clock(head), "Stuhl": head, "Auge rechts h": eye}
    return pl.DataFrame(table).write_csv(separator=";", decimal_comma=True).encode("cp1252")


def begin(client, **files):
    id_ = client.post("/api/imports", json=BY).json()["id"]
    for name, data in files.items():
        sent = client.put(f"/api/imports/{id_}/files/{name}", content=data)
        assert sent.status_code == 200, sent.text
    return id_


def awaited(client, answer):
    assert answer.status_code == 200, answer.text
    job = answer.json()
    for _ in range(400):
        if job["state"] not in ("waiting", "running"):
            break
        time.sleep(0.05)
        job = client.get(f"/api/jobs/{job['id']}").json()
    return job


SINE = export(sinusoid(0.16, 60.0, 8))
SPIN = export(np.concatenate([rest(4), spin(100.0, 1.0), rest(50)]))


@pytest.fixture
def described(client):
    """An import whose columns were told by a person, as its German headers need."""
    id_ = begin(client, **{"a.csv": SINE, "b.csv": SPIN})
    told = client.get(f"/api/imports/{id_}").json()["description"]
    told["columns"] = [
        {"role": "time", "name": "Zeit", "unit": "ms"},
        {"role": "head_velocity", "name": "Stuhl", "unit": "deg/s"},
        {"role": "eye_h_right", "name": "Auge rechts h", "unit": "deg"},
    ]
    return id_, told


def test_a_strange_export_becomes_a_session_and_its_map_serves_the_next_one(client, described):
    id_, told = described
    answer = client.put(f"/api/imports/{id_}/description", json=told).json()
    assert answer["ready"] is False
    early = client.post(f"/api/imports/{id_}/confirm", json=BY)
    assert early.status_code == 422
    assert "the date" in early.json()["error"]["message"]
    told |= {"code": "Z-9", "date": "2026-04-01"}
    told["trials"] = [
        {"id": "sine", "kind": "sinusoid", "file": "a.csv", "vision": "dark",
         "stimulus": {"frequency_hz": 0.16, "peak_velocity_deg_s": 60}},
        {"id": "spin", "kind": "step", "file": "b.csv", "vision": "dark",
         "stimulus": {"direction": "right", "velocity_deg_s": 100}},
    ]  # fmt: skip
    answer = client.put(f"/api/imports/{id_}/description", json=told).json()
    assert (answer["ready"], answer["problems"]) == (True, [])
    confirmed = {"save_map_as": "old chair", **BY}
    job = awaited(client, client.post(f"/api/imports/{id_}/confirm", json=confirmed))
    assert job["state"] == "done", job
    (patient,) = client.get("/api/patients").json()
    assert (patient["code"], patient["sessions"][0]["date"]) == ("Z-9", "2026-04-01")
    assert client.get(f"/api/imports/{id_}").status_code == 404

    later = client.get(f"/api/imports/{begin(client, **{'c.csv': SINE})}").json()
    assert later["map_used"] == "old chair"
    (trial,) = later["description"]["trials"]
    assert trial["stimulus"] == {"frequency_hz": 0.16, "peak_velocity_deg_s": 60}


def test_original_files_are_kept_byte_for_byte(client, described):
    id_, told = described
    told |= {"code": "Z-9", "date": "2026-04-01"}
    told["trials"] = [{"id": "s", "kind": "other", "file": "a.csv"}]
    client.put(f"/api/imports/{id_}/description", json=told)
    job = awaited(client, client.post(f"/api/imports/{id_}/confirm", json=BY))
    store = client.app.state.house.store
    assert (store.session_folder(job["result"]["session"]) / "a.csv").read_bytes() == SINE
    assert store.check_files(job["result"]["session"]) == ()


def test_the_preview_shows_the_columns_as_they_are_told_now(client, described):
    id_, told = described
    told["trials"] = [{"id": "s", "kind": "other", "file": "b.csv"}]
    asked = {"trial": "s", "channels": "head", "columns": 200}

    def seen():
        client.put(f"/api/imports/{id_}/description", json=told)
        return decoded_window(client.get(f"/api/imports/{id_}/preview", params=asked).content)

    header, channels = seen()
    assert np.nanmax(channels["head"].high) == pytest.approx(100.0)
    told["columns"][1]["positive"] = "left"
    _, turned = seen()
    assert np.nanmin(turned["head"].low) == pytest.approx(-100.0)
    assert header["columns"] == turned["head"].low.size


def test_files_that_come_later_add_their_trials_and_lose_no_correction(client, described):
    id_, told = described
    told |= {"code": "Z-9"}
    client.put(f"/api/imports/{id_}/description", json=told)
    client.put(f"/api/imports/{id_}/files/c.csv", content=SPIN)
    after = client.get(f"/api/imports/{id_}").json()["description"]
    assert after["code"] == "Z-9"
    assert [trial["file"] for trial in after["trials"]][-1] == "c.csv"
    assert after["trials"][-1]["kind"] == "step"


def test_a_folder_with_its_own_session_toml_is_taken_as_it_is(client, tmp_path):
    folder = write_demo_session(demo_table(PATIENTS[0]), tmp_path)
    files = {f"mine/{p.relative_to(folder).as_posix()}": p.read_bytes()
             for p in folder.rglob("*") if p.is_file()}  # fmt: skip
    id_ = begin(client, **files)
    answer = client.get(f"/api/imports/{id_}").json()
    assert (answer["description"], answer["ready"]) == (None, True)
    assert {one["path"] for one in answer["files"]} == {name[5:] for name in files}
    told = {"code": "x", "date": "2026-01-01"}
    refused = client.put(f"/api/imports/{id_}/description", json=told)
    assert refused.status_code == 409
    job = awaited(client, client.post(f"/api/imports/{id_}/confirm", json=BY))
    assert job["state"] == "done", job


@pytest.mark.parametrize(
    "path",
    ["../x.csv", "a/../../x.csv", "%2e%2e/x.csv", "/etc/x.csv", "a//b.csv", "con.csv", "a:b.csv",
     "a\\b.csv", "x.exe", "x", "a/b/c/d/e/f/g/h/i.csv", "a" * 300 + ".csv", " .csv", "x.csv.part"],
)  # fmt: skip
def test_a_hostile_name_is_refused_and_nothing_is_written(client, path):
    id_ = begin(client)
    sent = client.put(f"/api/imports/{id_}/files/{path}", content=b"t,x\n1,2\n")
    assert sent.status_code in (400, 404, 405, 422)
    assert sent.json()["error"]["message"]
    incoming = client.app.state.house.store.import_folder(id_)
    assert [p for p in incoming.rglob("*") if p.is_file()] == []


@pytest.mark.parametrize(
    "data", [b"", b"\x00" * 4000, b"PAR1" + b"\xff" * 500, b"hello", b"a,b\n1"]
)
def test_a_file_that_is_no_table_is_told_and_the_server_goes_on(client, data):
    id_ = begin(client, **{"odd.csv": data, "good.csv": SINE})
    answer = client.get(f"/api/imports/{id_}")
    assert answer.status_code == 200, answer.text
    assert any(one["file"] == "odd.csv" for one in answer.json()["problems"])


def test_two_sessions_at_once_are_told_apart(client):
    id_ = begin(client, **{"a/session.toml": b"schema = 1", "b/session.toml": b"schema = 1"})
    answer = client.get(f"/api/imports/{id_}")
    assert answer.status_code == 422
    assert "one session at a time" in answer.json()["error"]["expected"]


def test_a_dropped_import_leaves_nothing(client):
    id_ = begin(client, **{"a.csv": SINE})
    assert client.delete(f"/api/imports/{id_}").status_code == 204
    assert client.get(f"/api/imports/{id_}").status_code == 404
    assert client.app.state.house.store.imports() == ()


def test_what_is_not_confirmed_yet_is_listed_until_it_is_dropped(client):
    id_ = begin(client, **{"a.csv": SINE})
    (listed,) = client.get("/api/imports").json()
    assert listed == {"id": id_, "files": 1, "bytes": len(SINE), "described": False}
    client.delete(f"/api/imports/{id_}")
    assert client.get("/api/imports").json() == []


def test_the_units_that_a_column_may_have_are_told_by_its_role(client):
    told = client.get(f"/api/imports/{begin(client)}").json()
    assert set(told["units"]) == set(told["roles"])
    assert "rad/s" in told["units"]["head_velocity"]
    assert told["units"]["marker"] == []
    assert "dark" in told["visions"]


def test_a_file_that_could_not_be_read_is_told_after_a_correction_too(client):
    id_ = begin(client, **{"odd.csv": b"hello", "good.csv": SINE})
    told = client.get(f"/api/imports/{id_}").json()["description"]
    for answer in (
        client.put(f"/api/imports/{id_}/description", json={**told, "code": "Z-9"}).json(),
        client.get(f"/api/imports/{id_}").json(),
    ):
        assert any(one["file"] == "odd.csv" for one in answer["problems"])


def test_a_session_without_a_code_is_not_pooled_with_others(client):
    told = b"schema = 1\n[patient]\n[session]\ndate = 2026-01-01\n[columns]\n" + (
        b'time = { name = "Zeit", unit = "ms" }\n'
        b'head_velocity = { name = "Stuhl", unit = "deg/s" }\n'
        b'eye_h_right = { name = "Auge rechts h", unit = "deg" }\n'
        b'[[trial]]\nid = "a"\nkind = "other"\nfile = "a.csv"\n'
    )
    id_ = begin(client, **{"a.csv": SINE, "session.toml": told})
    answer = client.post(f"/api/imports/{id_}/confirm", json=BY)
    assert answer.status_code == 422
    assert "no code" in answer.json()["error"]["message"]
    assert client.get("/api/patients").json() == []


def test_a_name_that_no_map_may_have_is_refused_before_anything_is_made(client, described):
    id_, told = described
    told |= {"code": "Z-9", "date": "2026-04-01"}
    told["trials"] = [{"id": "s", "kind": "other", "file": "a.csv"}]
    client.put(f"/api/imports/{id_}/description", json=told)
    asked = {"save_map_as": "Chair 50/100 Hz", **BY}
    assert client.post(f"/api/imports/{id_}/confirm", json=asked).status_code == 422
    assert client.get("/api/patients").json() == []


def test_a_number_without_end_is_told_and_the_import_goes_on(client, described):
    id_, told = described
    stimulus = {"frequency_hz": 10**400, "peak_velocity_deg_s": 60}
    told["trials"] = [{"id": "s", "kind": "sinusoid", "file": "a.csv", "stimulus": stimulus}]
    sent = client.put(f"/api/imports/{id_}/description", json=told)
    assert sent.status_code in (200, 422)
    assert client.get(f"/api/imports/{id_}").status_code == 200


def test_files_of_a_session_that_lost_its_place_are_not_removed_as_an_import(client):
    store = client.app.state.house.store
    id_ = store.new_import()
    (store.import_folder(id_) / "session.toml").write_bytes(b"schema = 1")
    assert client.delete(f"/api/imports/{id_}").status_code == 409
    assert (store.import_folder(id_) / "session.toml").is_file()
