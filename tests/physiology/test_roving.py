from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.oculomotor import GRID_HZ
from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.roving import roving_velocity
from tests.physiology.hard_trial import QUIET, recorded

DROWSY = Alertness(throughout=0.5, roving_deg=6.0)
COUNT = 120_000


def _tired(**fields):
    return replace(QUIET, alertness=Alertness(throughout=0.6, **fields))


def test_roving_is_pendular_near_0_3_hz_and_as_large_as_asked():
    velocity = roving_velocity(DROWSY, np.full(COUNT, 0.5), np.random.default_rng(3))
    frequency_hz = np.fft.rfftfreq(COUNT, 1 / GRID_HZ)
    power = np.abs(np.fft.rfft(velocity)) ** 2
    assert power[(frequency_hz >= 0.2) & (frequency_hz <= 0.4)].sum() > 0.9 * power.sum()
    position = np.cumsum(velocity) / GRID_HZ
    assert np.sqrt(2) * np.std(position) == pytest.approx(3.0, rel=0.25)


def test_the_alert_do_not_rove():
    velocity = roving_velocity(DROWSY, np.ones(COUNT), np.random.default_rng(3))
    assert np.all(velocity == 0.0)


def test_roving_is_in_the_true_slow_phase_and_not_in_the_true_measures():
    rest = TrialPlan(id="rest", kind="spontaneous", duration_s=60.0)
    still, roving = (recorded(person=_tired(roving_deg=r), plan=rest).truth for r in (0.0, 8.0))
    assert np.std(roving.slow_phase_deg_s) > 2 * np.std(still.slow_phase_deg_s)
    turned, roved = (recorded(person=_tired(roving_deg=r)).truth.measures for r in (0.0, 8.0))
    assert turned == roved


def test_nobody_roves_with_a_target_to_look_at():
    watched = TrialPlan(id="rest", kind="spontaneous", vision="light", duration_s=20.0)
    still, roving = (recorded(person=_tired(roving_deg=r), plan=watched) for r in (0.0, 8.0))
    np.testing.assert_array_equal(still.truth.position_deg, roving.truth.position_deg)


def test_the_drowsy_make_fewer_and_slower_quick_phases():
    usual = recorded(person=_tired()).truth.quick_phases
    tired = recorded(person=_tired(quick_rate=0.5, quick_speed=0.6)).truth.quick_phases
    assert len(tired) < 0.75 * len(usual)

    def peaks(saccades):
        size = np.abs(saccades.amplitude_deg)
        return np.median(np.abs(saccades.peak_velocity_deg_s) / -np.expm1(-size / 6.0))

    assert peaks(tired) == pytest.approx(0.6 * peaks(usual), rel=0.05)
