"""Samples that no eye and no chair can have made, and traces too short to tell."""

import numpy as np
import pytest
from session_folder import SessionFolder, as_csv, rest_trace, sinusoid_trace, the_one_problem

from slowphase.recording.read import read_session


def test_eyes_at_one_value_throughout_are_no_eyes(sound: SessionFolder) -> None:
    trace = sinusoid_trace()
    still = {name: np.full_like(trace["t"], 3.0) for name in ("Rx", "Ry", "Lx", "Ly")}
    sound.add_sinusoid("still", content=as_csv({**trace, **still}))
    assert the_one_problem(read_session(sound.write()), "no_usable_eye").trial == "still"


@pytest.mark.parametrize("channel", ["t", "chair", "Rx"])
@pytest.mark.parametrize("huge", ["1e300", "-3.402823e+38"])
def test_a_huge_number_is_a_lost_sample(folder: SessionFolder, channel: str, huge: str) -> None:
    lines = as_csv(sinusoid_trace()).splitlines()
    cells = lines[800].split(",")
    cells[list(sinusoid_trace()).index(channel)] = huge
    folder.add_sinusoid("sound", content="\n".join([*lines[:800], ",".join(cells), *lines[801:]]))
    session = read_session(folder.write())
    assert session.problems == ()
    recording = session.trials[0].recording
    assert recording is not None
    assert recording.time_s[-1] == pytest.approx(24.99)
    assert recording.head_velocity_deg_s is not None
    assert np.nanmax(np.abs(recording.head_velocity_deg_s)) < 100


def test_a_head_channel_that_is_mostly_lost_is_rebuilt_and_said(folder: SessionFolder) -> None:
    trace = sinusoid_trace()
    chair = np.where(trace["t"] < 5.0, trace["chair"], np.nan)
    folder.add_sinusoid("sound", content=as_csv({**trace, "chair": chair}))
    recording = read_session(folder.write()).trials[0].recording
    assert recording is not None
    assert recording.head_source == "rebuilt"
    assert "head_rebuilt" in recording.why


@pytest.mark.parametrize("factor", [500.0, 1e25])
def test_eyes_beyond_every_reach_are_refused_before_anything_is_measured(sound, factor):
    trace = sinusoid_trace()
    for name in ("Rx", "Ry", "Lx", "Ly"):
        trace[name] = trace[name] * factor + 5000.0
    sound.add_sinusoid("far", content=as_csv(trace))
    session = read_session(sound.write())
    codes = {problem.code for problem in session.problems}
    assert codes == {"eye_scale_implausible"}
    first = next(problem for problem in session.problems if problem.key == "eye_h_right")
    assert "column 'Rx' lies between" in first.message
    assert first.expected == "an eye within 200 deg of its median"
    assert next(trial for trial in session.trials if trial.id == "far").recording is None


def test_one_eye_beyond_every_reach_leaves_the_other(sound):
    trace = sinusoid_trace()
    trace["Rx"] = trace["Rx"] * 500.0
    trace["Lx"][100:105] = 1e25
    sound.add_sinusoid("half", content=as_csv(trace))
    session = read_session(sound.write())
    assert the_one_problem(session, "eye_scale_implausible").key == "eye_h_right"
    recording = next(trial for trial in session.trials if trial.id == "half").recording
    assert "eye_h_right" not in recording.channels
    left = recording.channels["eye_h_left"]
    assert np.flatnonzero(np.isnan(left)).tolist() == [100, 101, 102, 103, 104]


def test_an_electrode_that_drifts_far_from_nought_is_an_eye(sound):
    trace = sinusoid_trace()
    trace["Rx"] = trace["Rx"] + 400.0 + np.linspace(-90.0, 90.0, trace["t"].size)
    sound.add_sinusoid("drifting", content=as_csv(trace))
    assert read_session(sound.write()).problems == ()


def test_a_file_of_two_lines_has_too_few_samples(sound):
    content = "\n".join(as_csv(sinusoid_trace()).splitlines()[:2]) + "\n"
    sound.add_sinusoid("tiny", content=content)
    problem = the_one_problem(read_session(sound.write()), "too_few_samples")
    assert "the trial has 1 sample; expected at least 10" in problem.message


def test_a_file_of_one_second_is_answered_with_seconds(sound):
    trace = {name: values[:60].copy() for name, values in rest_trace().items()}
    for name in ("Rx", "Lx"):
        trace[name][10:20] = np.nan
    sound.write_file("short.csv", as_csv(trace).replace("nan", ""))
    sound.add_trial('id = "short"', 'kind = "spontaneous"', 'file = "short.csv"')
    problem = the_one_problem(read_session(sound.write()), "no_usable_eye")
    assert "more than 1 s" in problem.expected
    assert "%" not in problem.expected
