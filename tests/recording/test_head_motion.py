import numpy as np
import pytest
from numpy.testing import assert_allclose
from session_folder import COLUMNS, SessionFolder, as_csv, sinusoid_trace, step_trace

from slowphase.recording.head import rebuild_velocity, velocity_of_position
from slowphase.recording.read import read_session
from slowphase.recording.trial import Recording

TIME_S = np.arange(5000) / 250.0


def the_recording(folder: SessionFolder) -> Recording:
    session = read_session(folder.write())
    assert session.problems == ()
    recording = session.trials[-1].recording
    assert recording is not None
    return recording


@pytest.mark.parametrize("frequency_hz", [0.01, 0.16, 0.64, 1.0])
def test_the_velocity_of_a_position_is_its_derivative(frequency_hz: float) -> None:
    omega = 2 * np.pi * frequency_hz
    position = 60 / omega * (1 - np.cos(omega * TIME_S))
    velocity = velocity_of_position(TIME_S, position)
    assert_allclose(velocity[10:-10], 60 * np.sin(omega * TIME_S)[10:-10], atol=0.3)


def test_wraps_of_a_full_turn_are_undone() -> None:
    position = np.mod(100.0 * TIME_S, 360.0)
    assert_allclose(velocity_of_position(TIME_S, position), 100.0, atol=1e-6)


def test_real_stamps_count_and_no_slope_reaches_over_a_gap() -> None:
    time_s = np.r_[TIME_S[:2000], TIME_S[3000:]]
    position = np.where(time_s < 10, 30.0 * time_s, -500.0 + 30.0 * time_s)
    assert_allclose(velocity_of_position(time_s, position), 30.0, atol=1e-6)


def test_a_lost_position_is_a_lost_velocity() -> None:
    position = 30.0 * TIME_S
    position[100:200] = np.nan
    velocity = velocity_of_position(TIME_S, position)
    assert np.flatnonzero(np.isnan(velocity)).tolist() == list(range(100, 200))


def test_a_head_position_column_becomes_velocity(folder: SessionFolder) -> None:
    folder.columns = COLUMNS.replace(
        'head_velocity = { name = "chair", unit = "deg/s" }',
        'head_position = { name = "chair", unit = "deg" }',
    )
    trace = sinusoid_trace()
    position = np.cumsum(trace["chair"]) / 100.0
    folder.add_sinusoid("a", content=as_csv({**trace, "chair": position}))
    recording = the_recording(folder)
    assert recording.head_source == "position"
    assert recording.head_velocity_deg_s is not None
    assert_allclose(recording.head_velocity_deg_s[5:-5], trace["chair"][5:-5], atol=0.5)
    assert "head_position" not in recording.channels


def without_head(folder: SessionFolder) -> None:
    folder.columns = "\n".join(x for x in COLUMNS.splitlines() if "chair" not in x) + "\n"


@pytest.mark.parametrize(("extra", "sign"), [((), 1.0), (('direction = "left"',), -1.0)])
def test_a_sinusoid_without_head_is_rebuilt(
    folder: SessionFolder, extra: tuple[str, ...], sign: float
) -> None:
    without_head(folder)
    folder.add_sinusoid("a", *extra)
    recording = the_recording(folder)
    assert (recording.head_source, recording.why) == ("rebuilt", ("head_rebuilt",))
    assert recording.head_velocity_deg_s is not None
    assert_allclose(recording.head_velocity_deg_s, sign * sinusoid_trace()["chair"], atol=1e-6)


def add_step(folder: SessionFolder, *extra: str) -> None:
    folder.write_file("step.csv", as_csv(step_trace()))
    keys = ('id = "s"', 'kind = "step"', 'file = "step.csv"', 'vision = "dark"')
    folder.add_trial(*keys, 'direction = "right"', "velocity_deg_s = 100", *extra)


def test_a_step_without_head_is_rebuilt_from_its_acceleration_and_duration(
    folder: SessionFolder,
) -> None:
    without_head(folder)
    add_step(folder, "acceleration_deg_s2 = 100", "start_at_s = 2", "constant_s = 20")
    recording = the_recording(folder)
    assert recording.head_source == "rebuilt"
    assert recording.head_velocity_deg_s is not None
    assert_allclose(recording.head_velocity_deg_s, step_trace()["chair"], atol=1e-6)


def test_a_step_whose_motion_nobody_knows_is_a_problem(folder: SessionFolder) -> None:
    without_head(folder)
    add_step(folder)
    session = read_session(folder.write())
    assert [problem.code for problem in session.problems] == ["head_unknown"]
    assert session.trials[0].recording is not None
    assert session.trials[0].recording.head_velocity_deg_s is None


def test_a_kind_that_does_not_rotate_has_no_head_to_rebuild() -> None:
    assert rebuild_velocity("spontaneous", {}, TIME_S) is None


def test_a_position_in_every_second_row_still_tells_the_motion(folder: SessionFolder) -> None:
    folder.columns = COLUMNS.replace(
        'head_velocity = { name = "chair", unit = "deg/s" }',
        'head_position = { name = "chair", unit = "deg" }',
    )
    trace = sinusoid_trace()
    position = np.cumsum(trace["chair"]) / 100.0
    position[1::2] = np.nan
    folder.add_sinusoid("a", content=as_csv({**trace, "chair": position}))
    recording = the_recording(folder)
    assert recording.head_source == "position"
    assert recording.head_velocity_deg_s is not None
    known = np.isfinite(recording.head_velocity_deg_s)
    assert known[::2].mean() > 0.95
    found, true = recording.head_velocity_deg_s[known], trace["chair"][known]
    assert_allclose(found[5:-5], true[5:-5], atol=1.0)
