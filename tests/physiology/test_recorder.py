from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.blink import Blinking, draw_blinks, lid_shape
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid
from slowphase.physiology.recorder import Equipment, sample_times
from slowphase.physiology.simulate import simulate_trial

PLAN = replace(sinusoid(0.16), cycles=6)


def _traces(equipment, person=None):
    rng = np.random.default_rng(5)
    return simulate_trial(person or Person(), PLAN, equipment, rng)


@pytest.mark.parametrize("sampling_hz", [50.0, 60.0, 120.0, 250.0, 500.0, 1000.0])
def test_the_eye_does_not_depend_on_the_sampling_rate(sampling_hz):
    truth = _traces(Equipment(sampling_hz=sampling_hz)).truth
    fine = _traces(Equipment(sampling_hz=1000.0)).truth
    expected = np.interp(truth.time_s, fine.time_s, fine.position_deg)
    np.testing.assert_allclose(truth.position_deg, expected, atol=0.02)


def test_noise_is_as_large_as_asked():
    trial = _traces(
        Equipment(noise_deg=0.4, quantum_deg=0.0, eye_mismatch=0.0, eye_offset_deg=0.0),
        Person(blinking=Blinking(per_min=0.0)),
    )
    seen = trial.traces.channels["eye_h_right"] - trial.traces.channels["eye_h_left"]
    assert np.nanstd(seen) == pytest.approx(0.4 * np.sqrt(2), rel=0.03)


def test_the_mean_of_both_eyes_is_right():
    trial = _traces(Equipment(noise_deg=0.0, quantum_deg=0.0), Person(blinking=Blinking(per_min=0)))
    channels = trial.traces.channels
    mean = (channels["eye_h_right"] + channels["eye_h_left"]) / 2
    quiet = ~np.isnan(mean) & ~trial.truth.in_quick_phase
    assert np.median(np.abs(mean - trial.truth.position_deg)[quiet]) < 0.01


def test_samples_sit_on_the_quantum():
    trace = _traces(Equipment(quantum_deg=0.05)).traces.channels["eye_h_right"]
    steps = trace[~np.isnan(trace)] / 0.05
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-6)


def test_video_loses_the_pupil_behind_the_lid_and_electrodes_do_not():
    person = Person(blinking=Blinking(per_min=30.0))
    video = _traces(Equipment(losses_per_min=0.0), person)
    wired = _traces(Equipment(method="electrodes", losses_per_min=0.0), person)
    lost = np.isnan(video.traces.channels["eye_h_right"])
    assert lost.any()
    assert video.truth.lid[lost].all()
    assert not np.isnan(wired.traces.channels["eye_h_right"]).any()
    up = wired.traces.channels["eye_v_right"]
    assert up[wired.truth.lid].max() > up[~wired.truth.lid].max() + 3.0


def test_an_eye_is_lost_for_the_interval_asked():
    trial = _traces(Equipment(eye_lost_s=(10.0, 15.0)))
    inside = (trial.traces.time_s >= 10.0) & (trial.traces.time_s < 15.0)
    assert np.isnan(trial.traces.channels["eye_h_left"][inside]).all()
    assert np.isnan(trial.traces.channels["eye_h_right"][inside]).mean() < 0.5


def test_one_eye_without_vertical_is_one_channel():
    trial = _traces(Equipment(eyes=("left",), vertical=False))
    assert list(trial.traces.channels) == ["eye_h_left"]


def test_time_stamps_rise_with_jitter_and_missing_rows():
    rng = np.random.default_rng(2)
    times = sample_times(Equipment(sampling_hz=100.0, jitter=0.3, dropped=0.05), 60.0, rng)
    assert np.all(np.diff(times) > 0)
    assert times[0] == 0.0
    assert times.size == pytest.approx(5700, abs=100)


def test_recorded_head_is_the_chair_with_small_noise():
    trial = _traces(Equipment(head_noise_deg_s=0.25))
    error = trial.traces.head_velocity_deg_s - trial.truth.head_velocity_deg_s
    assert np.std(error) == pytest.approx(0.25, rel=0.1)


def test_blinks_come_as_often_as_asked_and_are_marked():
    blinks = draw_blinks(Blinking(per_min=12.0), 600.0, np.random.default_rng(1))
    assert blinks.onset_s.size == pytest.approx(120, abs=35)
    time_s = np.arange(60_000) / 100.0
    vertical, _, closed = lid_shape(blinks, time_s)
    assert np.all(vertical[closed] > 0)
    assert closed.mean() == pytest.approx(0.6 * blinks.duration_s.sum() / 600.0, rel=0.15)


def test_slow_noise_is_slow_and_as_large_as_asked():
    quiet = Person(blinking=Blinking(per_min=0.0))
    kwargs = {"noise_deg": 0.0, "quantum_deg": 0.0, "eye_mismatch": 0.0, "eye_offset_deg": 0.0}
    trial = _traces(Equipment(wander_deg=0.3, wander_s=0.2, **kwargs), quiet)
    seen = trial.traces.channels["eye_h_right"] - trial.traces.channels["eye_h_left"]
    assert np.nanstd(seen) == pytest.approx(0.3 * np.sqrt(2), rel=0.2)
    assert np.nanstd(np.diff(seen)) < 0.25 * np.nanstd(seen)


def test_a_chair_that_is_not_recorded_leaves_no_trace():
    assert _traces(Equipment(head_recorded=False)).traces.head_velocity_deg_s is None
