"""Patients and the log: merged, moved and reversed, each with a name and a reason."""

import pytest
from served import BY, is_error

from slowphase.workbench.shapes.patients import LogEntry


@pytest.fixture
def two(store, folders):
    """Two patients with a session each."""
    rows = [store.add_session(folders[name], by="R. Doe") for name in ("odd", "raw")]
    return [(row.patient, row.id) for row in rows]


def test_patients_are_merged_and_the_merge_is_reversed(page, two):
    (one, session), (other, _) = two
    answer = page.send("POST", f"patients/{one}/merge", {**BY, "into": other})
    assert {s["id"] for s in answer.json()["sessions"]} == {s for _, s in two}
    assert [p["id"] for p in page.get("patients").json()] == [other]
    entry = next(e for e in page.get("log").json() if e["reversible"])
    back = page.send("POST", f"log/{entry['id']}/reverse", BY)
    assert back.json()["reverses"] == entry["id"]
    assert {p["id"] for p in page.get("patients").json()} == {one, other}
    told = {e["id"]: e for e in page.get("log", session=session).json()}
    assert all(e["session"] == session for e in told.values())
    assert is_error(page.send("POST", f"log/{entry['id']}/reverse", BY), 409)


def test_a_session_is_moved_to_another_patient_and_to_a_new_one(page, two):
    (one, session), (other, _) = two
    moved = page.send("POST", f"sessions/{session}/move", {**BY, "patient": other})
    assert moved.json()["patient"] == other
    new = page.send("POST", f"sessions/{session}/move", {**BY, "patient": None})
    assert new.json()["patient"] not in (other,)
    assert is_error(page.send("POST", f"sessions/{session}/move", {**BY, "patient": "nobody"}), 404)
    assert is_error(page.send("POST", f"sessions/{session}/move", BY), 422)
    assert one


def test_the_log_is_read_backwards_in_parts(page, two):
    whole = page.get("log").json()
    for entry in whole:
        LogEntry.model_validate(entry)
    assert [e["id"] for e in whole] == sorted((e["id"] for e in whole), reverse=True)
    part = page.get("log", limit=1).json()
    rest = page.get("log", before=part[-1]["id"]).json()
    assert part + rest == whole
    assert {e["what"] for e in whole} >= {"session_added"}
    assert two


@pytest.mark.parametrize(
    "asked", [{"before": 0}, {"limit": 0}, {"limit": 9999}, {"before": 2**70}, {"before": "x"}]
)
def test_a_part_of_the_log_that_cannot_be_is_refused(page, asked):
    assert is_error(page.get("log", **asked), 422)


@pytest.mark.parametrize("entry", ["0", "-1", "99999", str(2**70), "x"])
def test_an_entry_that_is_not_there_cannot_be_reversed(page, entry):
    answer = page.send("POST", f"log/{entry}/reverse", BY)
    assert is_error(answer, answer.status_code)
    assert answer.status_code in (404, 422)


@pytest.mark.parametrize("lacking", ["by", "reason"])
def test_filing_needs_a_name_and_a_reason(page, two, lacking):
    (one, _), (other, _) = two
    body = {**BY, "into": other}
    del body[lacking]
    assert is_error(page.send("POST", f"patients/{one}/merge", body), 422)
    assert len(page.get("patients").json()) == 2


def test_a_patient_is_not_merged_into_one_that_is_not_there(page, two):
    (one, _), _ = two
    for into in ("nobody", one, "x" * 500):
        answer = page.send("POST", f"patients/{one}/merge", {**BY, "into": into})
        assert is_error(answer, answer.status_code)
        assert 400 <= answer.status_code < 500
