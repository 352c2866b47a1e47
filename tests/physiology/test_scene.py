from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.oculomotor import GRID_HZ
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import head_velocity, sinusoid, step
from slowphase.physiology.scene import CORNER_HZ, with_scene
from slowphase.physiology.simulate import simulate, wanted_velocity
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.truth import sinusoid_truth
from tests.physiology.hard_trial import CLEAN, QUIET


def _response(plan, person=QUIET):
    """Complex gain of the last two cycles, by projection on the chair's sine."""
    time_s = np.arange(int(plan.length_s * GRID_HZ)) / GRID_HZ
    slow = wanted_velocity(person, plan, head_velocity(plan, time_s))
    stop_s = plan.lead_s + plan.cycles / plan.frequency_hz
    last = (time_s >= stop_s - 2 / plan.frequency_hz) & (time_s < stop_s)
    turn = np.exp(-2j * np.pi * plan.frequency_hz * (time_s[last] - plan.lead_s))
    return -2j * np.mean(slow[last] * turn) / plan.peak_velocity_deg_s


@pytest.mark.parametrize("frequency_hz", [0.04, 0.16, 0.64])
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_the_leak_adds_its_share_of_what_the_reflex_leaves_over(frequency_hz, share):
    plan = replace(sinusoid(frequency_hz), light_leak=share, cycles=12)
    truth = sinusoid_truth(QUIET, plan, 0.0)
    reflex = truth["gain"] * np.exp(1j * np.radians(truth["phase"]))
    visual = share / (1 + 1j * frequency_hz / CORNER_HZ)
    assert _response(plan) == pytest.approx(reflex + visual * (1 - reflex), abs=0.005)


def test_a_leak_raises_gain_and_pulls_phase_to_zero_at_low_frequencies_only():
    slow, fast = (replace(sinusoid(f), cycles=6) for f in (0.01, 0.64))
    dark, lit = _response(slow), _response(replace(slow, light_leak=0.5))
    assert abs(lit) > abs(dark) + 0.1
    assert 0 < np.angle(lit) < 0.6 * np.angle(dark)
    change = abs(_response(replace(fast, light_leak=0.5))) - abs(_response(fast))
    assert abs(change) < 0.25 * (abs(lit) - abs(dark))


def test_the_whole_scene_holds_the_eye_on_a_slow_chair():
    head = np.full(20_000, 30.0)
    np.testing.assert_allclose(with_scene(1.0, 0.0 * head, head, GRID_HZ)[-1], -30.0, rtol=1e-6)


def test_the_scene_also_suppresses_a_spontaneous_nystagmus():
    person = Person(spontaneous=Spontaneous(bias_deg_s=10.0))
    plan = replace(sinusoid(0.16), light_leak=0.5)
    still = np.zeros(20_000)
    assert wanted_velocity(person, plan, still)[-1] == pytest.approx(5.0, rel=1e-3)


def test_the_truth_stays_that_of_the_patient():
    dark = (sinusoid(0.08), step("right"))
    lit = tuple(replace(plan, light_leak=0.6) for plan in dark)
    for one, two in zip(*(simulate(QUIET, p, CLEAN, seed=1) for p in (dark, lit)), strict=True):
        assert one.truth.measures == two.truth.measures
        assert not np.allclose(one.truth.slow_phase_deg_s, two.truth.slow_phase_deg_s, atol=2.0)


def test_a_trial_that_is_not_dark_has_no_leak():
    plan = sinusoid(0.16, vision="head-fixed target")
    assert _response(plan) == _response(replace(plan, light_leak=0.6))
