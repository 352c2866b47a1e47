from dataclasses import replace

import numpy as np
import pytest
import scenarios

from slowphase.physiology.blink import Blinking
from slowphase.physiology.fixation import Fixation
from slowphase.physiology.half_lid import HalfLids
from slowphase.physiology.oculomotor import Oculomotor, QuickPhases
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid
from slowphase.physiology.slip import Slip
from slowphase.physiology.tracking import BadTracking
from slowphase.physiology.vibration import Vibration
from tests.physiology.hard_trial import CLEAN, PLAN, QUIET, recorded

NOISY = replace(CLEAN, noise_deg=0.1, head_noise_deg_s=0.3, losses_per_min=4.0)
FIXED = replace(sinusoid(0.32, vision="head-fixed target"), cycles=12)


@pytest.mark.parametrize(
    "feature",
    [
        {"slip": Slip(at_s=(10.0,), eyes=("left",))},
        {"half_lids": HalfLids(per_min=10.0, eyes=("left",))},
        {"bad_tracking": BadTracking(per_min=10.0, eye="left")},
        {"head_late_s": 0.05},
    ],
    ids=lambda feature: next(iter(feature)),
)
def test_what_concerns_one_channel_leaves_every_sample_of_the_other_eye(feature):
    spoiled, plain = recorded(replace(NOISY, **feature)).traces, recorded(NOISY).traces
    for role in ("eye_h_right", "eye_v_right"):
        np.testing.assert_array_equal(spoiled.channels[role], plain.channels[role])
    if "head_late_s" not in feature:
        np.testing.assert_array_equal(spoiled.head_velocity_deg_s, plain.head_velocity_deg_s)
        left = spoiled.channels["eye_v_left"], plain.channels["eye_v_left"]
        assert not np.array_equal(*left, equal_nan=True)


def test_a_calibration_error_scales_both_eyes_and_not_the_truth():
    true, wrong = recorded(), recorded(replace(CLEAN, calibration=1.5))
    for role, trace in true.traces.channels.items():
        np.testing.assert_allclose(wrong.traces.channels[role], 1.5 * trace, atol=1e-9)
    assert wrong.truth.measures == true.truth.measures
    np.testing.assert_array_equal(wrong.truth.slow_phase_deg_s, true.truth.slow_phase_deg_s)


@pytest.mark.parametrize("late_s", [0.04, -0.04])
def test_a_late_chair_clock_shifts_the_head_channel_and_nothing_else(late_s):
    true, late = recorded(), recorded(replace(CLEAN, head_late_s=late_s))
    time_s, head = true.traces.time_s, true.traces.head_velocity_deg_s
    expected = np.interp(time_s - late_s, time_s, head)
    np.testing.assert_allclose(late.traces.head_velocity_deg_s, expected, atol=0.01)
    np.testing.assert_array_equal(late.truth.head_velocity_deg_s, true.truth.head_velocity_deg_s)


def test_catch_up_saccades_bring_the_eye_back_to_the_target_one_to_three_times_a_second():
    person = replace(QUIET, fixation=Fixation(strength=0.85))
    catching = replace(person, oculomotor=Oculomotor(catch_up_deg=0.6))
    usual, caught = (recorded(person=p, plan=FIXED).truth for p in (person, catching))
    rate = len(caught.quick_phases) / FIXED.length_s
    assert 1.0 < rate < 3.5
    assert np.std(caught.position_deg) < 0.8 * np.std(usual.position_deg)
    moving = np.abs(caught.slow_phase_deg_s) > 4.0
    back = np.interp(caught.quick_phases.onset_s, caught.time_s, caught.slow_phase_deg_s)
    large = np.abs(back) > 4.0
    assert moving.any()
    assert np.mean(caught.quick_phases.amplitude_deg[large] * back[large] < 0) > 0.9


def test_catch_up_saccades_are_made_with_a_target_only():
    catching = replace(QUIET, oculomotor=Oculomotor(catch_up_deg=0.6))
    np.testing.assert_array_equal(
        recorded(person=catching).truth.position_deg, recorded().truth.position_deg
    )


HARD_PERSON = Person(
    oculomotor=Oculomotor(
        oscillation=0.1,
        glissade=0.1,
        quick=QuickPhases(busy_per_s=6.0, small_share=0.5),
    ),
    blinking=Blinking(per_min=20.0),
)
HARD_EQUIPMENT = replace(
    CLEAN,
    keeps_lost=True,
    losses_per_min=6.0,
    slip=Slip(per_min=6.0),
    half_lids=HalfLids(per_min=4.0),
    bad_tracking=BadTracking(per_min=4.0),
)


@pytest.mark.parametrize("eye", ["right", "left"])
def test_the_true_masks_leave_only_slow_phase(eye):
    """Against numerical differentiation of what was recorded, not of the truth."""
    trial = recorded(HARD_EQUIPMENT, person=HARD_PERSON)
    truth, trace = trial.truth, trial.traces.channels[f"eye_h_{eye}"]
    hidden = truth.in_quick_phase | truth.settling | truth.lid | truth.bad[eye]
    near = np.convolve(hidden, np.ones(5), mode="same") > 0
    slope = np.gradient(trace, truth.time_s)
    assert 0.2 < np.mean(~near) < 0.8
    np.testing.assert_allclose(slope[~near], truth.slow_phase_deg_s[~near], atol=4.0)
    error = slope[~near] - truth.slow_phase_deg_s[~near]
    assert np.sqrt(np.mean(error**2)) < 0.5


def test_without_the_new_masks_what_was_recorded_is_not_all_slow_phase():
    trial = recorded(HARD_EQUIPMENT, person=HARD_PERSON)
    truth, trace = trial.truth, trial.traces.channels["eye_h_left"]
    near = np.convolve(truth.in_quick_phase | truth.lid, np.ones(5), mode="same") > 0
    slope = np.gradient(trace, truth.time_s)
    assert np.abs(slope - truth.slow_phase_deg_s)[~near].max() > 100.0


def test_a_slip_of_the_session_reaches_the_trials_after_it():
    trials = {trial.plan.id: trial for trial in scenarios.simulated("goggle-gain", 1)}
    first, last = trials["sin-0.01"], trials["step-left"]
    for trial, factor in ((first, 1.0), (last, 0.85)):
        trace, true = trial.traces.channels["eye_h_right"], trial.truth.position_deg
        seen = np.isfinite(trace) & ~trial.truth.lid
        slope = np.polyfit(true[seen], trace[seen], 1)[0]
        assert slope == pytest.approx(factor, abs=0.015)  # the eyes differ by 1 %


def test_everything_at_once_can_be_recorded_with_electrodes_and_one_eye():
    equipment = replace(
        HARD_EQUIPMENT,
        method="electrodes",
        eyes=("left",),
        vertical=False,
        vibration=Vibration(eye_deg=0.1),
    )
    trial = recorded(equipment, person=HARD_PERSON, plan=PLAN)
    assert list(trial.traces.channels) == ["eye_h_left"]
    assert list(trial.truth.bad) == ["left"]
    assert np.isfinite(trial.traces.channels["eye_h_left"]).all()
