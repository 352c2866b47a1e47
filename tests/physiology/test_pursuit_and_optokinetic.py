import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.optokinetic import Optokinetic, followed_deg_s, optokinetic_velocity
from slowphase.physiology.pursuit import (
    Pursuit,
    pursuit_gain,
    pursuit_phase_deg,
    pursuit_velocity,
)

TIME_S = np.arange(0.0, 120.0, 0.01)


def test_pursuit_falls_with_frequency_and_with_amplitude():
    # Koenig, Dichgans, Dengler 1986, Acta Otolaryngol 102:423–431, abstract read
    by_frequency = [pursuit_gain(Pursuit(), f, 20.0) for f in (0.1, 0.3, 1.0, 2.0)]
    by_speed = [pursuit_gain(Pursuit(), 0.3, v) for v in (10.0, 30.0, 60.0, 120.0)]
    assert np.all(np.diff(by_frequency) < 0)
    assert np.all(np.diff(by_speed) < 0)


def test_healthy_pursuit_is_nearly_as_fast_as_the_target_at_low_frequencies():
    # about 0.9 below 0.4 Hz: common practice, no source
    assert 0.85 < pursuit_gain(Pursuit(), 0.2, 19.0) < 1.0


@pytest.mark.parametrize("frequency_hz", [0.1, 0.4])
def test_simulated_pursuit_settles_at_its_gain_and_phase(frequency_hz):
    eye = pursuit_velocity(Pursuit(), frequency_hz, 20.0, TIME_S)
    whole = TIME_S >= 20.0
    wave = np.exp(-2j * np.pi * frequency_hz * TIME_S[whole])
    fitted = 2j * np.mean(eye[whole] * wave)  # sine as reference, whole cycles
    assert abs(fitted) / 20.0 == pytest.approx(
        pursuit_gain(Pursuit(), frequency_hz, 20.0), rel=1e-3
    )
    lag = np.degrees(np.angle(fitted))
    assert lag == pytest.approx(pursuit_phase_deg(Pursuit(), frequency_hz), abs=0.05)


def test_pursuit_begins_after_its_latency():
    eye = pursuit_velocity(Pursuit(), 0.4, 20.0, TIME_S)
    assert not eye[TIME_S <= 0.13].any()


def _okn(scene_deg_s=30.0, decay_s=20.0, okn=None):
    return optokinetic_velocity(okn or Optokinetic(), scene_deg_s, (2.0, 42.0), decay_s, TIME_S)


def test_the_slow_phase_follows_the_scene():
    velocity = _okn()
    steady = velocity[(TIME_S > 35) & (TIME_S < 42)].mean()
    assert 0.7 < steady / 30.0 < 0.95  # healthy gain: common practice, no source
    assert not velocity[TIME_S < 2.0].any()


def test_after_nystagmus_goes_the_same_way_and_decays_with_the_storage():
    velocity = _okn(decay_s=14.0)
    dark = TIME_S > 45.0
    slope = np.polyfit(TIME_S[dark], np.log(velocity[dark]), 1)[0]
    assert -1 / slope == pytest.approx(14.0, rel=0.01)
    assert 2.0 < velocity[TIME_S > 43.5][0] < 15.0


def test_direct_and_stored_parts_are_first_order_systems_of_python_control():
    okn = Optokinetic()
    system = okn.direct * control.TransferFunction([1.0], [okn.direct_s, 1.0])
    system += okn.stored * control.TransferFunction([1.0], [okn.charging_s, 1.0])
    lit = TIME_S < 40.0
    expected = control.step_response(system, TIME_S[lit]).outputs * followed_deg_s(okn, 30.0)
    ours = optokinetic_velocity(okn, 30.0, (0.0, 40.0), 20.0, TIME_S)
    np.testing.assert_allclose(ours[lit], expected, atol=0.3)


@given(st.floats(5.0, 100.0), st.floats(3.0, 30.0))
def test_the_other_direction_is_the_mirror_image(scene_deg_s, decay_s):
    np.testing.assert_allclose(_okn(scene_deg_s, decay_s), -_okn(-scene_deg_s, decay_s))


def test_a_fast_scene_runs_away_from_the_eyes():
    gains = [followed_deg_s(Optokinetic(), speed) / speed for speed in (10.0, 30.0, 60.0, 120.0)]
    assert np.all(np.diff(gains) < 0)
    assert gains[0] > 0.99
