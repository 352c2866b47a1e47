import numpy as np
import pytest

from slowphase.eye.condense import block_mean, condense, spikes
from slowphase.eye.settings import EyeSettings
from slowphase.eye.track import track
from slowphase.recording.trial import Recording

EYE = EyeSettings()


def recording(position, rate_hz):
    return Recording(np.arange(position.size) / rate_hz, rate_hz, {"eye_h_right": position})


def test_slow_recordings_stay_as_they_are():
    position = np.random.default_rng(1).normal(size=1000)
    seen = condense(recording(position, 250.0), EYE)
    assert seen.factor == 1
    assert np.array_equal(seen.recording.channels["eye_h_right"], position)


def test_fast_recordings_are_averaged_in_blocks_that_keep_the_clock():
    time = np.arange(4003) / 1000.0
    seen = condense(recording(3.0 * time, 1000.0), EYE)
    assert seen.factor == 4
    small = seen.recording
    assert small.time_s.size == 1001
    assert small.channels["eye_h_right"] == pytest.approx(3.0 * small.time_s)
    assert small.sampling_hz == pytest.approx(250.0)


def test_a_block_with_lost_samples_is_the_mean_of_those_that_are_left():
    values = np.array([1.0, 3.0, np.nan, 5.0, np.nan, np.nan, 2.0, np.nan, 4.0])
    assert block_mean(values, 2)[[0, 1, 3, 4]] == pytest.approx([2.0, 5.0, 2.0, 4.0])
    assert np.isnan(block_mean(values, 2)[2])


def test_a_single_sample_far_off_is_no_eye_but_a_saccade_is():
    rng = np.random.default_rng(2)
    position = rng.normal(0, 0.05, 1000)
    position[500:] += 8.0  # one sample after the other: a jump stays a jump
    position[200] += 15.0
    assert np.flatnonzero(spikes(position, EYE)).tolist() == [200]


def test_every_sample_of_a_fast_recording_has_its_use_and_its_velocity():
    rng = np.random.default_rng(3)
    time = np.arange(20_003) / 1000.0
    position = np.mod(12.0 * time, 4.0) + rng.normal(0, 0.05, time.size)
    horizontal, _ = track(recording(position, 1000.0))
    trace = horizontal.trace
    assert trace.use.shape == trace.position_deg.shape == trace.velocity_deg_s.shape == time.shape
    assert np.nanmedian(trace.velocity_deg_s) == pytest.approx(12.0, abs=0.3)
    pieces = horizontal.pieces
    assert pieces.stop.max() <= time.size
    assert np.mean(pieces.velocity_deg_s) == pytest.approx(12.0, abs=0.2)
    assert np.mean(time[pieces.start]) == pytest.approx(
        np.mean(pieces.time_s - pieces.duration_s / 2), abs=0.004
    )
