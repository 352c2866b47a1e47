"""What a trial's recording says of itself, on made numbers and on simulated sessions."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import scenarios
from hypothesis import given
from hypothesis import strategies as st
from outside_data import outside

from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.eye.trace import QuickPhases
from slowphase.eye.track import track
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.conditions import (
    Response,
    cautioned,
    mean_power,
    roving_deg_s,
    strength_change,
)
from slowphase.measures.eye_pair import block_gain, compare_eyes, eyes_disagree, lasting_step_deg
from slowphase.measures.kinds import measure_trial
from slowphase.measures.measure import Measure
from slowphase.measures.quick_phases import detection_of, sequence_deg_s, sequence_speed
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.scenario import run, scenario_from
from slowphase.recording.session import Patient
from slowphase.recording.trial import Recording, Trial

SETTINGS, EYE = MeasureSettings(), EyeSettings()
CODES = {
    "noisy_trace",
    "noise_hides_quick_phases",
    "eyes_disagree",
    "strength_changes",
    "roving_eyes",
    "slow_quick_phases",
}
UNSUSPECTED = (
    "healthy-60",
    "healthy-250",
    "acute-left-loss",
    "bilateral-severe",
    "no-response",
    "prolonged-storage",
    "saturation",
    "lapses",
    "electrodes",
    "square-wave-jerks",
)


@cache
def measured(name, id_, seed=1):
    session, _ = scenarios.scenario(name, seed)
    trial = next(trial for trial in session.trials if trial.id == id_)
    return measure_trial(trial, EYE, SETTINGS)


def found(name, id_, seed=1):
    return CODES & set(measured(name, id_, seed).quality.why)


@pytest.mark.parametrize("name", UNSUSPECTED)
@pytest.mark.parametrize("id_", ["spontaneous-dark", "sin-0.04", "step-right"])
def test_a_good_recording_of_any_patient_is_under_no_suspicion(name, id_):
    assert found(name, id_) == set()


@pytest.mark.parametrize("id_", ["spontaneous-dark", "sin-0.04", "step-right"])
@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("drowsy-throughout", "slow_quick_phases"),
        ("roving-eyes", "slow_quick_phases"),
        ("roving-eyes", "roving_eyes"),
        ("goggle-slip-one-eye", "eyes_disagree"),
        ("noise-1deg-60", "noisy_trace"),
    ],
)
def test_a_bad_recording_is_called_what_it_is(name, code, id_):
    assert code in found(name, id_)


def test_a_recording_that_shows_hardly_any_quick_phase_is_not_used():
    scenario = scenarios.described("noise-1deg-60", 1)
    equipment = replace(scenario.equipment, noise_deg=4.0)
    (plan,) = (plan for plan in scenario.protocol if plan.id == "sin-0.04")
    result = simulated_trial(replace(scenario, equipment=equipment, protocol=(plan,)))
    assert "noise_hides_quick_phases" in result.quality.why
    assert {m.grade for m in result.measures if m.name in ("gain", "phase")} == {"unusable"}


def test_a_goggle_that_slips_to_another_gain_within_a_trial_is_found_with_its_size():
    scenario = scenarios.described("goggle-gain", 1)
    slip = replace(scenario.equipment.slip, session_at_s=None, at_s=(50.0,), gain=0.8)
    equipment = replace(scenario.equipment, slip=slip)
    (plan,) = (plan for plan in scenario.protocol if plan.id == "sin-0.08")
    result = simulated_trial(replace(scenario, equipment=equipment, protocol=(plan,)))
    assert "strength_changes" in result.quality.why
    assert result.quality.strength_change == pytest.approx(-0.22, abs=0.04)  # 0.2 / 0.9
    reasons = {m.name: m.why for m in result.measures}
    assert "strength_changes" in reasons["gain"]
    assert "strength_changes" not in reasons["phase"]


def simulated_trial(scenario):
    from datetime import date

    from slowphase.cli.simulated_session import session_from
    from slowphase.physiology.scenario import run
    from slowphase.recording.session import Patient

    session = session_from(run(scenario), Patient(code="x"), date(2026, 1, 15))
    return measure_trial(session.trials[0], EYE, SETTINGS)


def test_the_smallest_visible_quick_phase_grows_with_noise_and_shrinks_with_sampling():
    def smallest(noise_deg, sampling_hz):
        return detection_of(noise_deg, sampling_hz, EYE, SETTINGS).smallest_deg

    assert smallest(0.05, 250) < smallest(0.2, 250) < smallest(1.0, 250)
    assert smallest(0.2, 250) < smallest(0.2, 60)
    assert smallest(0.001, 250) == EYE.smallest_deg


def test_the_velocity_noise_of_the_detection_is_that_of_filtered_white_noise():
    from slowphase.eye.quickphase import differentiate

    detection = detection_of(0.3, 200.0, EYE, SETTINGS)
    noise = 0.3 * np.random.default_rng(4).standard_normal(200_000)
    width = np.sqrt(detection.width_s**2 - 1 / (12 * 200.0**2)) * 200.0
    seen = float(np.std(differentiate(noise, width) * 200.0))
    assert detection.noise_deg_s == pytest.approx(seen, rel=0.02)


@pytest.mark.parametrize("speed", [0.5, 0.7, 1.0, 1.3])
def test_the_speed_of_quick_phases_is_seen_through_the_filter(speed):
    detection = detection_of(0.05, 250.0, EYE, SETTINGS)
    size = np.linspace(3.0, 12.0, 40)
    true = speed * sequence_deg_s(size, SETTINGS)
    bell = size / (np.sqrt(2 * np.pi) * true)
    peak = size / (np.sqrt(2 * np.pi) * np.hypot(bell, detection.width_s))
    onset = np.arange(40.0)
    events = QuickPhases(onset, onset + 0.05, -size, -peak)
    assert sequence_speed(events, detection, SETTINGS)[0] == pytest.approx(speed, rel=1e-6)


def test_few_or_small_quick_phases_tell_no_speed():
    detection = detection_of(0.05, 250.0, EYE, SETTINGS)
    onset = np.arange(20.0)
    small = QuickPhases(onset, onset + 0.02, np.full(20, 1.0), np.full(20, 50.0))
    few = QuickPhases(onset[:7], onset[:7] + 0.05, np.full(7, 5.0), np.full(7, 100.0))
    assert sequence_speed(small, detection, SETTINGS) == (None, None)
    assert sequence_speed(few, detection, SETTINGS) == (None, None)


@pytest.mark.parametrize("noise_deg", [0.0, 0.2])
@pytest.mark.parametrize("every", [1, 4, 8])
@pytest.mark.parametrize("subject", ["S1", "S3", "S4", "S6"])
def test_the_saccades_of_alert_people_are_neither_slow_nor_fast(subject, every, noise_deg):
    """Human gaze at 1000, 250 and 125 Hz, all of it alert and in the light: Zemblys, Niehorster,
    Komogortsev, Holmqvist 2018, Behav Res Methods 50:160-181 (MIT licence)."""
    table = np.load(outside("labelled_saccades") / f"{subject}.npy")
    lost = ~table["status"] | (table["evt"] == 5)
    eye = np.where(lost, np.nan, table["x"].astype(float))[::every]
    eye = eye + noise_deg * np.random.default_rng(1).standard_normal(eye.size)
    rate = 1.0 / (every * float(np.mean(np.diff(table["t"]))))
    horizontal, _ = track(Recording(np.arange(eye.size) / rate, rate, {"eye_h_right": eye}))
    detection = detection_of(horizontal.noise_deg, rate, EYE, SETTINGS)
    speed, error = sequence_speed(horizontal.trace.quick_phases, detection, SETTINGS)
    assert speed is None or SETTINGS.slow_sequence_surely < speed < SETTINGS.fast_sequence
    assert speed is not None or every == 8
    assert error is None or error < 0.1


def quiet(seconds=100.0, noise=1.0):
    time = np.arange(0.1, seconds, 0.2)
    rng = np.random.default_rng(3)
    return time, noise * rng.standard_normal(time.size)


def test_roving_is_measured_with_its_root_mean_square():
    time, noise = quiet()
    rove = 5.0 * np.sin(2 * np.pi * 0.3 * time + 1)
    response = Response(time, noise + rove, np.zeros(time.size))
    assert roving_deg_s(response, 0.0, SETTINGS) == pytest.approx(5 / np.sqrt(2), rel=0.1)


def test_noise_of_every_frequency_is_no_roving():
    time, noise = quiet(noise=30.0)
    assert roving_deg_s(Response(time, noise, np.zeros(time.size)), 0.0, SETTINGS) == 0.0


def test_what_the_fit_leaves_at_the_stimulus_and_its_harmonics_is_no_roving():
    time, noise = quiet()
    left = 6.0 * np.sin(2 * np.pi * 0.16 * time) + 4.0 * np.sin(2 * np.pi * 0.32 * time)
    response = Response(time, noise + left, np.zeros(time.size))
    assert roving_deg_s(response, 0.16, SETTINGS) == 0.0


def test_the_power_of_white_noise_is_its_variance_over_the_nyquist_frequency():
    time, noise = quiet(seconds=2000.0)
    power = mean_power(Response(time, noise, np.zeros(time.size)), (0.6, 1.2), 0.0, SETTINGS)
    assert power == pytest.approx(1.0 / 2.5, rel=0.1)  # one-sided, 5 values per second


@given(jump=st.floats(-0.4, 0.4), at=st.floats(0.3, 0.7))
def test_a_lasting_jump_of_strength_is_found_with_its_size(jump, at):
    time, noise = quiet()
    wave = 30.0 * np.sin(2 * np.pi * 0.1 * time)
    strength = np.where(time > at * 100, 1.0 + jump, 1.0)
    change = strength_change(Response(time, strength * wave + 0.3 * noise, wave), 0.1, SETTINGS)
    if abs(jump) > 0.1:
        assert change == pytest.approx(jump / (1 + jump / 2), rel=0.15)
    if abs(jump) < 0.005:
        assert abs(change) < SETTINGS.strength_change


def test_strength_that_drifts_or_dips_is_no_jump():
    time, noise = quiet()
    wave = 30.0 * np.sin(2 * np.pi * 0.1 * time)
    for strength in (1.0 - 0.2 * time / 100, np.where(abs(time - 50) < 10, 0.6, 1.0)):
        response = Response(time, strength * wave + noise, wave)
        assert strength_change(response, 0.1, SETTINGS) == 0.0


def two_eyes(left_gain=1.0, step_deg=0.0, noise=0.05):
    rng = np.random.default_rng(8)
    time = np.arange(0.0, 60.0, 0.01)
    eye = 6.0 * np.sin(2 * np.pi * 0.7 * time) + 2.0 * np.sin(2 * np.pi * 0.23 * time)
    late = time > 30.0
    left = np.where(late, left_gain, 1.0) * eye + np.where(late, step_deg, 0.0)
    channels = {
        "eye_h_right": eye + noise * rng.standard_normal(time.size),
        "eye_h_left": left + noise * rng.standard_normal(time.size),
    }
    trial = Trial(id="a", kind="spontaneous")
    return compare_eyes(trial, Recording(time, 100.0, channels), SETTINGS)


def test_eyes_that_move_together_agree_whatever_their_noise():
    for noise in (0.02, 0.5):
        pair = two_eyes(noise=noise)
        assert not eyes_disagree(pair, SETTINGS)
        assert abs(pair.gain_difference) < 0.03


def test_the_difference_in_gain_is_relative_to_the_mean_of_both_eyes():
    pair = two_eyes(left_gain=0.8)
    assert eyes_disagree(pair, SETTINGS)
    assert pair.gain_difference == pytest.approx(-0.2 / 0.9, abs=0.005)


def test_an_eye_that_jumps_and_stays_disagrees_and_one_that_comes_back_does_not():
    assert eyes_disagree(two_eyes(step_deg=5.0), SETTINGS)
    assert not eyes_disagree(two_eyes(step_deg=1.0), SETTINGS)
    assert lasting_step_deg([0.0, 0.0, 5.0, 0.0, 0.0, 0.0]) == 0.0
    assert lasting_step_deg([0.0, 0.0, 2.5, 5.0, 5.0]) == 5.0


def test_eyes_at_rest_do_not_tell_their_gains():
    still = 0.05 * np.random.default_rng(1).standard_normal((2, 500))
    assert block_gain(still[0], still[1], 100.0, SETTINGS) is None


def test_a_reason_lowers_the_grade_of_what_it_bears_on_and_changes_no_value():
    gain = Measure("a/gain", "gain", 0.6, 0.5, 0.7, "1")
    phase, usable = replace(gain, name="phase"), replace(gain, name="usable")
    marked = [cautioned(m, ("eyes_disagree",)) for m in (gain, phase, usable)]
    assert [m.grade for m in marked] == ["caution", "sound", "sound"]
    assert {(m.value, m.low, m.high) for m in marked} == {(0.6, 0.5, 0.7)}
    assert marked[0].grade == worst_grade(marked[0].why)


def test_a_measure_that_is_missing_stays_missing_for_its_own_reason():
    lacking = Measure("a/gain", "gain", None, None, None, "1", grade="unusable", why=("too_short",))
    assert cautioned(lacking, ("noisy_trace",)) == lacking


FULL = ("healthy-120", "acute-right-loss", "no-response", "coarse-noise", "roving-eyes")


@cache
def full_trials(name):
    table = {**scenarios.TABLES[name], "seed": 3, "protocol": {"trials": "full"}}
    return session_from(run(scenario_from(table)), Patient("T"), None).trials


def scaled(trial, factor):
    channels = {
        role: values * factor if role.startswith("eye_") else values
        for role, values in trial.recording.channels.items()
    }
    return replace(trial, recording=replace(trial.recording, channels=channels))


@pytest.mark.parametrize("name", FULL)
def test_eyes_in_radians_are_told_and_those_in_degrees_are_never_doubted(name):
    kinds = {"spontaneous", "caloric", "optokinetic", "sinusoid", "step"}
    for trial in full_trials(name):
        if trial.recording is None or trial.kind not in kinds:
            continue
        right, small = (measure_trial(scaled(trial, f), EYE, SETTINGS) for f in (1.0, 1 / 57.3))
        assert "eye_scale_doubtful" not in right.quality.why, trial.id
        assert "eye_scale_doubtful" in small.quality.why, trial.id
        scale = [m for m in small.measures if m.name in ("gain", "peak", "velocity", "bias")]
        assert all(m.value is None or m.grade != "sound" for m in scale)


def test_a_pursuit_in_radians_is_doubted_with_its_gain():
    for trial in full_trials("healthy-120"):
        if trial.kind == "pursuit":
            small = measure_trial(scaled(trial, 1 / 57.3), EYE, SETTINGS)
            (gain,) = (m for m in small.measures if m.id == f"{trial.id}/gain")
            assert gain.grade != "sound"
            assert "eye_scale_doubtful" in gain.why
