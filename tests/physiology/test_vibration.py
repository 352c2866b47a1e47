from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.vibration import Vibration
from tests.physiology.hard_trial import CLEAN, PLAN, changes, recorded

SHAKING = replace(CLEAN, vibration=Vibration(eye_deg=0.2, hz=12.0))


def _spectrum(trace):
    power = np.abs(np.fft.rfft(trace * np.hanning(trace.size))) ** 2
    return np.fft.rfftfreq(trace.size, 1 / CLEAN.sampling_hz), power


@pytest.mark.parametrize("role", ["eye_h_right", "eye_v_left"])
def test_the_eye_traces_shake_at_the_frequency_asked_while_the_chair_moves(role):
    shake = changes(SHAKING)[role]
    frequency_hz, power = _spectrum(shake)
    middle = np.sum(frequency_hz * power) / power.sum()
    assert middle == pytest.approx(12.0, rel=0.05)
    assert power[(frequency_hz > 8) & (frequency_hz < 16)].sum() > 0.97 * power.sum()
    moving = np.abs(recorded().truth.head_velocity_deg_s) > 20.0
    assert np.sqrt(2) * np.std(shake[moving]) == pytest.approx(0.2, rel=0.3)


def test_a_chair_at_rest_does_not_shake():
    rest = TrialPlan(id="rest", kind="spontaneous", duration_s=20.0)
    assert np.all(changes(SHAKING, plan=rest)["eye_h_right"] == 0.0)
    lead = recorded().traces.time_s < PLAN.lead_s
    assert np.all(changes(SHAKING)["eye_h_right"][lead] == 0.0)


def test_the_head_channel_carries_the_velocity_of_the_same_shake():
    head = recorded(SHAKING).traces.head_velocity_deg_s - recorded().traces.head_velocity_deg_s
    shake = changes(SHAKING)["eye_h_right"]
    slope = np.gradient(shake) * CLEAN.sampling_hz
    assert np.corrcoef(head, slope)[0, 1] > 0.95
    assert np.std(head) == pytest.approx(0.2 * np.std(slope), rel=0.1)


def test_the_true_chair_does_not_shake():
    np.testing.assert_array_equal(
        recorded(SHAKING).truth.head_velocity_deg_s, recorded().truth.head_velocity_deg_s
    )
