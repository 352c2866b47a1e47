"""What a person corrects: the same numbers as on the command line, undone and redone at will."""

import json

import numpy as np
import pytest
from served import BY, is_error, opened, page_on

from slowphase.store import Store
from slowphase.workbench.shapes.sessions import ChangedAnswer
from tests.cli.command_line import start

CHAIR_EDITS = (
    ("exclude", "sin-0.16", {"start_s": 31.5, "stop_s": 36.0}),
    ("no_quick_phase", "step-right", {"at_s": 20.0}),
    ("quick_phase", "sin-0.16", {"start_s": 50.0, "stop_s": 50.06}),
    ("eye", "sin-0.16", {"eye": "right"}),
    ("calibration", "fix-0.04", {"eye": "both", "plane": "horizontal", "gain": 1.1}),
    ("calibration", None, {"eye": "right", "plane": "horizontal", "gain": 0.98, "offset": 0.5}),
    ("stimulus", "sin-0.16", {"key": "peak_velocity_deg_s", "value": 60.5}),
    ("set_aside", "step-left", {}),
)
RAW_EDITS = (
    ("exclude", "calibration", {"start_s": 4.0, "stop_s": 6.0}),
    ("exclude", "sin-0.16", {"start_s": 31.5, "stop_s": 36.0}),
    ("calibration", None, {"eye": "both", "plane": "horizontal", "gain": 0.025}),
)
ODD_EDITS = (
    ("exclude", "a/b window", {"start_s": 10.0, "stop_s": 12.5}),
    ("exclude", "paused", {"start_s": 19.0, "stop_s": 25.0}),
    ("set_aside", "a/b window", {}),
)


def of_command_line(folder, page, session, place):
    """The document that ``slowphase analyze --edits`` gives for the file that the page can save."""
    file = place / "edits.json"
    file.write_text(page.get(f"sessions/{session}/edits.json").text, encoding="utf-8")
    return json.loads(start("analyze", folder, "--edits", file, "--json").stdout)


@pytest.mark.parametrize(
    ("name", "edits"), [("chair", CHAIR_EDITS), ("raw", RAW_EDITS), ("odd", ODD_EDITS)]
)
def test_every_kind_of_edit_gives_the_document_of_the_command_line_bit_for_bit(
    store, page, folders, tmp_path, name, edits
):
    session = store.add_session(folders[name], by="R. Doe").id
    page.session(session)
    for kind, trial, values in edits:
        answer = page.edit(session, kind, trial, **values)
        assert answer.status_code == 200, answer.text
        told = answer.json()
        ChangedAnswer.model_validate(told)
    expected = of_command_line(folders[name], page, session, tmp_path)
    assert told["document"] == expected
    assert page.session(session)["document"] == expected
    for count in range(len(edits), 2 * len(edits)):
        told = page.send("POST", f"sessions/{session}/undo", {"by": "R. Doe", "expected": count})
    back = of_command_line(folders[name], page, session, tmp_path)
    assert told.json()["document"] == back
    untouched = json.loads(start("analyze", folders[name], "--json").stdout)
    for part in ("trials", "statements", "pairs", "groups"):
        assert back[part] == untouched[part]


def test_an_edit_says_what_changed_before_and_after(page, chair):
    before = page.session(chair)["document"]
    told = page.edit(chair, "exclude", "sin-0.16", start_s=31.5, stop_s=36.0).json()
    assert told["trials"] == ["sin-0.16"]
    changed = {one["id"]: one for one in told["changed"]}
    known = {m["id"]: m for t in before["trials"] for m in t["measures"]}
    now = {m["id"]: m for t in told["document"]["trials"] for m in t["measures"]}
    assert changed["sin-0.16/gain"]["before"] == known["sin-0.16/gain"]
    assert changed["sin-0.16/gain"]["after"] == now["sin-0.16/gain"]
    assert all(one["before"] != one["after"] for one in told["changed"])
    assert not [id_ for id_ in changed if id_.startswith("step")]
    assert told["edits"]["count"] == 1
    entry = told["edits"]["log"][0]
    assert (entry["by"], entry["reason"], entry["holds"]) == (*BY.values(), True)
    assert (told["edits"]["can_undo"], told["edits"]["can_redo"]) == (True, False)


def test_setting_a_trial_aside_takes_measures_and_statements_away(page, chair):
    page.session(chair)
    told = page.edit(chair, "set_aside", "step-left").json()
    gone = [one for one in told["changed"] if one["after"] and one["after"]["value"] is None]
    assert {one["id"].split("/")[0] for one in gone} >= {"step-left"}
    statements = told["statements"]
    assert statements["changed"] or statements["added"] or statements["gone"]
    for one in statements["changed"]:
        assert one["before"] != one["after"]
    answer = page.get(f"sessions/{chair}/trials/step-left").json()
    assert answer["outcome"] == "set aside"
    assert "eye_h_right" in {channel["id"] for channel in answer["channels"]}


def test_what_is_excluded_is_still_seen_as_it_was_recorded(page, chair):
    page.session(chair)
    path = f"sessions/{chair}/trials/sin-0.16"
    asked = {"channels": "eye_h_right,position,slow", "start_s": 32, "stop_s": 35}
    _, before = opened(page.get(f"{path}/window", **asked).content)
    page.edit(chair, "exclude", "sin-0.16", start_s=31.5, stop_s=36.0)
    _, after = opened(page.get(f"{path}/window", **asked).content)
    assert np.array_equal(before["eye_h_right"][0], after["eye_h_right"][0], equal_nan=True)
    assert np.isnan(after["position"][0]).all()
    assert np.isnan(after["slow"][0]).all()
    told = page.get(path).json()
    assert told["by_hand"]["excluded"] == [{"start_s": 31.5, "stop_s": 36.0}]
    runs = [run for run in told["unused"] if run["reason"] == "excluded"]
    assert runs[0]["start_s"] == pytest.approx(31.5, abs=0.02)
    assert runs[0]["stop_s"] == pytest.approx(36.0, abs=0.02)


def test_a_quick_phase_that_was_added_is_marked_as_such(page, chair):
    page.session(chair)
    page.edit(chair, "quick_phase", "step-right", start_s=100.0, stop_s=100.08)
    told = page.get(f"sessions/{chair}/trials/step-right").json()
    added = [one for one in told["quick_phases"] if one["by_hand"]]
    assert {one["plane"] for one in added} >= {"horizontal"}
    assert all(99.9 < one["start_s"] < 100.1 for one in added)
    assert told["by_hand"]["quick"] == [{"start_s": 100.0, "stop_s": 100.08}]


def test_undo_brings_back_the_same_picture_and_redo_the_other(page, chair):
    page.session(chair)
    path = f"sessions/{chair}/trials/sin-0.16"
    names = [page.get(path).json()["traces"]]
    page.edit(chair, "exclude", "sin-0.16", start_s=31.5, stop_s=36.0)
    names.append(page.get(path).json()["traces"])
    for what, expected in (("undo", 1), ("redo", 2)):
        body = {"by": "R. Doe", "expected": expected}
        assert page.send("POST", f"sessions/{chair}/{what}", body).json()["trials"] == ["sin-0.16"]
        names.append(page.get(path).json()["traces"])
    assert names[0] == names[2] != names[1] == names[3]


def test_who_saw_another_state_is_told_so_and_nothing_is_changed(page, chair):
    page.session(chair)
    body = {**BY, "kind": "set_aside", "trial": "step-left", "values": {}, "expected": 3}
    assert is_error(page.send("POST", f"sessions/{chair}/edits", body), 409, "conflict")
    for what in ("undo", "redo"):
        answer = page.send("POST", f"sessions/{chair}/{what}", {"by": "R. Doe", "expected": 0})
        assert is_error(answer, 409, "conflict")
    assert page.get(f"sessions/{chair}/edits.json").json() == {"schema": 1, "edits": []}


@pytest.mark.parametrize(
    ("kind", "trial", "values", "code"),
    [
        ("exclude", "nowhere", {"start_s": 1, "stop_s": 2}, "edit_does_not_fit"),
        ("exclude", "sin-0.16", {"start_s": 9000, "stop_s": 9001}, "edit_does_not_fit"),
        ("stimulus", "sin-0.16", {"key": "frequency_hz", "value": 0.5}, "edit_does_not_fit"),
        ("exclude", "sin-0.16", {"start_s": 5, "stop_s": 2}, "invalid_edit"),
        ("exclude", "sin-0.16", {"start_s": "1", "stop_s": 2}, "invalid_edit"),
        ("exclude", "sin-0.16", {"start_s": 1}, "invalid_edit"),
        ("exclude", None, {"start_s": 1, "stop_s": 2}, "invalid_edit"),
        ("wish", "sin-0.16", {}, "invalid_edit"),
        ("set_aside", "sin-0.16", {"by": "another"}, "invalid_edit"),
        ("take_back", None, {"of": 7}, "invalid_edit"),
    ],
)
def test_an_edit_that_does_not_fit_is_refused_and_not_kept(page, chair, kind, trial, values, code):
    page.session(chair)
    assert is_error(page.edit(chair, kind, trial, **values), 422, code)
    assert page.get(f"sessions/{chair}/edits.json").json()["edits"] == []


@pytest.mark.parametrize("lacking", ["by", "reason", "expected"])
def test_an_edit_needs_a_name_a_reason_and_what_was_seen(page, chair, lacking):
    body = {**BY, "kind": "set_aside", "trial": "step-left", "values": {}, "expected": 0}
    del body[lacking]
    assert is_error(page.send("POST", f"sessions/{chair}/edits", body), 422, "invalid_call")
    body |= {"by": "x", "reason": "y", "expected": 0} | {lacking: " "}
    assert is_error(page.send("POST", f"sessions/{chair}/edits", body), 422)


def test_after_a_restart_everything_is_as_it_was(tmp_path, folders):
    store = Store.open(tmp_path / "again")
    page = page_on(store)
    session = store.add_session(folders["chair"], by="R. Doe").id
    page.session(session)
    page.edit(session, "exclude", "sin-0.16", start_s=31.5, stop_s=36.0)
    before = page.session(session)
    trial = page.get(f"sessions/{session}/trials/sin-0.16").json()
    window = page.get(f"sessions/{session}/trials/sin-0.16/window", channels="slow,fit").content
    page.client.app.state.house.room.keep_all()
    page.client.app.state.house.close()
    store.close()
    store = Store.open(tmp_path / "again")
    page = page_on(store)
    answer = page.get(f"sessions/{session}").json()
    assert answer == before
    assert page.get(f"sessions/{session}/trials/sin-0.16").json() == trial
    again = page.get(f"sessions/{session}/trials/sin-0.16/window", channels="slow,fit").content
    assert again == window
    assert page.edit(session, "set_aside", "step-left").status_code == 200
    page.client.app.state.house.close()
    store.close()
