import csv
import tomllib
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from slowphase.foundation.errors import UsageError
from slowphase.recording.read import read_session
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Recording, Trial
from slowphase.recording.write import NAMES, Layout, write_session

COUNT = 400


def _recording(*roles, seed=1):
    rng = np.random.default_rng(seed)
    channels = {role: rng.normal(0.0, 5.0, COUNT) for role in roles}
    for trace in channels.values():
        trace[20:30] = np.nan
    return Recording(
        time_s=np.arange(COUNT) / 40.0,
        sampling_hz=40.0,
        channels=channels,
        head_velocity_deg_s=60 * np.sin(2 * np.pi * 0.4 * np.arange(COUNT) / 40.0),
        head_source="measured",
    )


def _session(*trials, **more):
    return Session(
        patient=Patient("K-1", 57.5, "female"), date=date(2026, 3, 2), trials=trials, **more
    )


SINE = Trial(
    id="sin-0.4",
    kind="sinusoid",
    vision="dark",
    stimulus={"frequency_hz": 0.4, "peak_velocity_deg_s": 60},
    recording=_recording("eye_h_right", "eye_v_right"),
)
ONE_EYE = Trial(
    id="rest",
    kind="spontaneous",
    vision="light",
    outcome="stopped",
    reason='the "strap" slipped',
    notes="später wiederholt",
    recording=replace(_recording("eye_h_left", seed=2), head_velocity_deg_s=np.zeros(COUNT)),
)
NOT_DONE = Trial(
    id="step-left",
    kind="step",
    vision="dark",
    stimulus={"direction": "left", "velocity_deg_s": 100.0, "tilt_at_stop": True},
    outcome="not done",
    reason="nausea",
)


def _rows(path, delimiter=","):
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, delimiter=delimiter))


def test_session_file_says_what_the_session_says(tmp_path):
    session = _session(
        SINE, ONE_EYE, NOT_DONE, notes={"examiner": "A B"}, conditions={"eyes": "open"}
    )
    table = tomllib.loads(write_session(session, tmp_path).read_text(encoding="utf-8"))
    assert table["schema"] == 1
    assert table["patient"] == {"code": "K-1", "age_years": 57.5, "sex": "female"}
    assert table["session"] == {"date": date(2026, 3, 2), "examiner": "A B"}
    assert table["conditions"] == {"eyes": "open"}
    sine, rest, step = table["trial"]
    assert sine["file"] == "trials/sin-0.4.csv"
    assert sine["frequency_hz"] == 0.4
    assert rest["reason"] == 'the "strap" slipped'
    assert rest["notes"] == "später wiederholt"
    assert "file" not in step
    assert step["tilt_at_stop"] is True


def test_lost_samples_are_empty_cells_and_the_others_keep_their_digits(tmp_path):
    write_session(_session(SINE), tmp_path, decimals=2)
    rows = _rows(tmp_path / "trials" / "sin-0.4.csv")
    assert [row["Rx"] for row in rows[20:30]] == [""] * 10
    back = np.array([float(row["Rx"]) for row in rows[30:]])
    np.testing.assert_allclose(back, SINE.recording.channels["eye_h_right"][30:], atol=0.005001)


def test_every_file_has_the_columns_that_the_session_file_names(tmp_path):
    table = tomllib.loads(write_session(_session(SINE, ONE_EYE), tmp_path).read_text("utf-8"))
    names = {column["name"] for column in table["columns"].values()}
    for trial in table["trial"]:
        assert set(_rows(tmp_path / trial["file"])[0]) == names
    assert all(row["Rx"] == "" for row in _rows(tmp_path / "trials" / "rest.csv"))


def test_other_marks_names_and_signs_are_written_as_the_session_file_says(tmp_path):
    layout = Layout(
        names=NAMES | {"head_velocity": "Stuhl"},
        flipped={"head_velocity": "left"},
        delimiter=";",
        decimal_comma=True,
    )
    table = tomllib.loads(write_session(_session(SINE), tmp_path, layout=layout).read_text("utf-8"))
    assert table["columns"]["head_velocity"] == {
        "name": "Stuhl",
        "unit": "deg/s",
        "positive": "left",
    }
    rows = _rows(tmp_path / "trials" / "sin-0.4.csv", ";")
    chair = np.array([float(row["Stuhl"].replace(",", ".")) for row in rows])
    np.testing.assert_allclose(chair, -SINE.recording.head_velocity_deg_s, atol=0.0005001)


def test_the_same_session_gives_the_same_bytes(tmp_path):
    for name in ("one", "two"):
        write_session(_session(SINE, ONE_EYE), tmp_path / name)
    for path in sorted((tmp_path / "one").rglob("*.*")):
        assert (
            path.read_bytes()
            == (tmp_path / "two" / path.relative_to(tmp_path / "one")).read_bytes()
        )


def test_no_cell_is_a_negative_zero(tmp_path):
    write_session(_session(SINE), tmp_path, decimals=0)
    assert "-0.0" not in (tmp_path / "trials" / "sin-0.4.csv").read_text("utf-8")


def test_a_trial_cannot_write_outside_the_folder(tmp_path):
    outside = Trial(id="../../evil", kind="spontaneous", recording=_recording("eye_h_right"))
    with pytest.raises(UsageError, match="outside"):
        write_session(_session(outside), tmp_path / "folder")
    assert not list(tmp_path.rglob("*evil*"))


@pytest.mark.parametrize("layout", [Layout(), Layout(delimiter=";", decimal_comma=True)])
def test_the_reader_takes_back_what_was_written(tmp_path, layout):
    write_session(_session(SINE, ONE_EYE, NOT_DONE), tmp_path, layout=layout)
    back = read_session(tmp_path)
    assert back.problems == ()
    assert back.patient == Patient("K-1", 57.5, "female")
    assert [trial.id for trial in back.trials] == ["sin-0.4", "rest", "step-left"]
    sine, rest, step = back.trials
    assert sine.recording.sampling_hz == pytest.approx(40.0)
    for role, trace in SINE.recording.channels.items():
        np.testing.assert_allclose(sine.recording.channels[role], trace, atol=0.0005001)
    np.testing.assert_allclose(
        sine.recording.head_velocity_deg_s, SINE.recording.head_velocity_deg_s, atol=0.0005001
    )
    assert rest.outcome == "stopped"
    assert step.recording is None
    assert step.reason == "nausea"


def test_a_chair_known_by_its_position_is_written_and_a_rebuilt_one_is_not(tmp_path):
    for source, roles in (("position", True), ("measured", True), ("rebuilt", False)):
        recording = replace(SINE.recording, head_source=source)
        folder = tmp_path / source
        write_session(_session(replace(SINE, recording=recording)), folder)
        columns = tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))["columns"]
        assert ("head_velocity" in columns) is roles
        found = read_session(folder).trials[0].recording
        assert found.head_source == ("measured" if roles else "rebuilt")


def test_what_passes_through_is_written_without_a_unit_and_comes_back(tmp_path):
    recording = _recording("eye_h_right", "pupil_right")
    write_session(_session(replace(SINE, recording=recording)), tmp_path)
    text = (tmp_path / "session.toml").read_text(encoding="utf-8")
    assert "unit" not in tomllib.loads(text)["columns"]["pupil_right"]
    session = read_session(tmp_path)
    assert session.problems == ()
    found = session.trials[0].recording.channels["pupil_right"]
    np.testing.assert_allclose(found, recording.channels["pupil_right"], atol=1e-3)


@pytest.mark.parametrize("name", ["nul", "COM1", "sin:0.4", "what?"])
def test_an_id_that_is_no_file_name_everywhere_is_refused(tmp_path, name):
    with pytest.raises(UsageError, match="file name"):
        write_session(_session(replace(SINE, id=name)), tmp_path)


def test_ids_that_differ_only_in_case_are_refused(tmp_path):
    with pytest.raises(UsageError, match="share a file"):
        write_session(_session(SINE, replace(SINE, id="SIN-0.4")), tmp_path)
