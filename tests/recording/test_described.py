"""Trace files without a session.toml: described, corrected, written down, read back."""

from dataclasses import replace
from datetime import date

import numpy as np
import polars as pl
import pytest

import slowphase
from slowphase.recording.described import (
    DescribedColumn,
    describe,
    described_toml,
    kind_in,
    vision_in,
)
from tests.recording.chair_motions import RATE_HZ, clock, rest, sinusoid, spin


def write(folder, name, head, eye_sign=-1.0, **more):
    rng = np.random.default_rng(1)
    slow = np.cumsum(eye_sign * 0.6 * head) / RATE_HZ
    eye = (slow + 10.0) % 20.0 - 10.0 + rng.normal(0.0, 0.02, head.size)  # beats of 20 deg
    table = {"Time (ms)": 1000.0 * clock(head), "Chair": head, "EyeHorRight": eye, **more}
    pl.DataFrame(table).write_csv(folder / name, separator=";")


@pytest.fixture
def folder(tmp_path):
    write(tmp_path, "sin 0.16.csv", sinusoid(0.16, 60.0, 8))
    write(tmp_path, "step_right.csv", np.concatenate([rest(4), spin(100.0, 1.0), rest(50)]))
    write(tmp_path, "Caloric_RW.csv", rest(90.0))
    return tmp_path


FILES = ("sin 0.16.csv", "step_right.csv", "Caloric_RW.csv")


def test_trials_are_recognised_by_the_chair_and_by_the_name_of_the_file(folder):
    told, problems = describe(folder, FILES)
    assert problems == ()
    assert [(t.id, t.kind) for t in told.trials] == [
        ("sin 0.16", "sinusoid"),
        ("step_right", "step"),
        ("Caloric_RW", "caloric"),
    ]
    assert told.trials[0].stimulus == {"frequency_hz": 0.16, "peak_velocity_deg_s": 60.0}
    assert told.trials[1].stimulus == {"direction": "right", "velocity_deg_s": 100.0}
    assert all(t.start_s is None for t in told.trials)
    assert {c.role for c in told.columns} >= {"time", "head_velocity", "eye_h_right"}


def test_the_description_that_was_written_down_is_the_session_that_is_read(folder):
    told, _ = describe(folder, FILES[:2])
    whole = replace(told, code="Q-1", day=date(2026, 5, 4), age_years=40.0,
                    notes={"examiner": 'R. "Doe"'}, conditions={"light": "dark"})  # fmt: skip
    (folder / "session.toml").write_text(described_toml(whole), encoding="utf-8")
    session = slowphase.read_session(folder)
    assert (session.patient.code, session.date) == ("Q-1", date(2026, 5, 4))
    assert session.notes["examiner"] == 'R. "Doe"'
    assert [t.kind for t in session.trials] == ["sinusoid", "step"]
    assert all(t.recording is not None for t in session.trials)


def test_one_long_export_becomes_a_trial_for_each_part(tmp_path):
    parts = (rest(15), sinusoid(0.08, 60.0, 4), rest(12), spin(-80.0, 1.0), rest(40))
    write(tmp_path, "all.csv", np.concatenate(parts))
    told, _ = describe(tmp_path, ["all.csv"])
    assert [t.kind for t in told.trials] == ["spontaneous", "sinusoid", "step"]
    assert [t.id for t in told.trials] == ["all-1", "all-2", "all-3"]
    assert all(t.stop_s > t.start_s for t in told.trials)


def test_parts_of_an_export_are_told_on_the_clock_of_its_file(tmp_path):
    parts = (rest(15), sinusoid(0.08, 60.0, 4), rest(12), spin(-80.0, 1.0), rest(40))
    motion = np.concatenate(parts)
    late = {"Time (ms)": 1000.0 * (clock(motion) + 4000.0)}
    write(tmp_path, "all.csv", motion, **late)
    told, _ = describe(tmp_path, ["all.csv"])
    assert told.trials[0].start_s == pytest.approx(4000.0, abs=0.1)
    whole = replace(told, code="Q", day=date(2026, 5, 4))
    session = slowphase.read_session(tmp_path, text=described_toml(whole))
    assert all(trial.recording is not None for trial in session.trials)


def test_a_map_that_is_known_is_used_instead_of_a_proposal(folder):
    known = [DescribedColumn("time", "Time (ms)", "ms"),
             DescribedColumn("head_velocity", "Chair", "deg/s", positive="left")]  # fmt: skip
    told, _ = describe(folder, ["step_right.csv"], columns=known)
    assert told.trials[0].stimulus["direction"] == "left"


def test_a_file_that_is_no_table_has_its_problem_and_the_others_go_on(folder):
    (folder / "notes.txt").write_text("patient was tired", encoding="utf-8")
    told, problems = describe(folder, ("notes.txt", *FILES))
    assert [t.id for t in told.trials] == ["sin 0.16", "step_right", "Caloric_RW"]
    assert {p.file for p in problems} == {"notes.txt"}


@pytest.mark.parametrize(
    ("name", "kind", "vision"),
    [
        ("PURSUIT_0.2", "pursuit", None),
        ("spontaneous light", "spontaneous", "light"),
        ("fix-0.04", None, "head-fixed target"),
        ("x17", None, None),
    ],
)
def test_what_the_name_of_a_file_tells(name, kind, vision):
    assert (kind_in(name), vision_in(name)) == (kind, vision)
