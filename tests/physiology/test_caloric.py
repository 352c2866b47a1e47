from dataclasses import replace

import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.caloric import Caloric, caloric_velocity, heat_shape
from slowphase.physiology.session_truth import caloric_ratios

TIME_S = np.arange(-5.0, 240.0, 0.05)
AFTER_S = np.arange(0.0, 240.0, 0.05)


def _velocity(caloric, ear, temperature_c, medium="water", irrigation_s=30.0):
    return caloric_velocity(caloric, ear, temperature_c, medium, irrigation_s, TIME_S)


def _peak(*asked, **more):
    velocity = _velocity(*asked, **more)
    return float(velocity[np.argmax(np.abs(velocity))])


@pytest.mark.parametrize(
    ("ear", "temperature_c", "beats"),
    [("right", 44, "right"), ("right", 30, "left"), ("left", 44, "left"), ("left", 30, "right")],
)
def test_cool_beats_away_and_warm_beats_to_the_ear(ear, temperature_c, beats):
    # COWS: common practice, no source. Right-beating has a negative slow phase.
    slow_phase = _peak(Caloric(), ear, temperature_c)
    assert (slow_phase < 0) == (beats == "right")


def test_the_peak_comes_near_the_usual_time_and_fades_within_minutes():
    # about a minute after the start of irrigation: common practice, no source
    speed = np.abs(_velocity(Caloric(), "right", 44))
    assert 50.0 < TIME_S[np.argmax(speed)] < 90.0
    assert speed[TIME_S < 0].max() == 0.0
    assert speed[TIME_S > 200].max() < 0.2 * speed.max()


def test_a_healthy_ear_answers_with_the_usual_speed():
    # 30, 26, 28, 25 deg/s of the normal example of the caloric formulae
    warm, cool = abs(_peak(Caloric(), "right", 44)), abs(_peak(Caloric(), "right", 30))
    assert 20.0 < cool < warm < 40.0
    air = abs(_peak(Caloric(), "right", 50, "air", irrigation_s=60.0))
    assert 20.0 < air < 40.0


def test_the_flow_of_heat_is_three_first_order_lags_of_python_control():
    caloric = Caloric()
    lags = [control.TransferFunction([1.0], [lag_s, 1.0]) for lag_s in (50.0, 32.0, 5.0)]
    chain = lags[0] * lags[1] * lags[2]
    # a box of 30 s is a step less a later step
    rise = control.step_response(chain, AFTER_S).outputs
    later = np.interp(AFTER_S - 30.0, AFTER_S, rise, left=0.0)
    ours = heat_shape(caloric, 30.0, AFTER_S, 20.0)
    np.testing.assert_allclose(ours, rise - later, atol=1.5e-3 * rise.max())


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(10.0, 50.0))
def test_mirroring_the_ears_mirrors_the_response(right, left, temperature_c):
    one, other = Caloric(right=right, left=left), Caloric(right=left, left=right)
    np.testing.assert_array_equal(
        _velocity(one, "right", temperature_c), -_velocity(other, "left", temperature_c)
    )


def test_response_grows_with_function_and_with_temperature():
    half = replace(Caloric(), right=0.5)
    assert _peak(half, "right", 44) == pytest.approx(0.5 * _peak(Caloric(), "right", 44))
    assert not _velocity(Caloric(), "right", 37.0).any()
    assert abs(_peak(Caloric(), "right", 47)) > abs(_peak(Caloric(), "right", 44))


def test_fixation_takes_away_as_much_as_published():
    # 48 ± 10 % (Takemori 1977), 54 ± 12 % (1978), 66 ± 11 % (Takemori 1982), abstracts read
    assert 0.48 <= Caloric().suppression <= 0.66


@pytest.mark.parametrize(
    ("speeds", "weakness", "preponderance"),
    [
        ((30, 26, 28, 25), 2.8, 0.9),
        ((10, 8, 28, 24), -48.6, -2.9),
        ((35, 12, 14, 33), 0.0, 44.7),
        ((4, -2, 30, 26), -93.1, 3.4),
    ],
)
def test_the_formulae_give_the_worked_examples(speeds, weakness, preponderance):
    # worked out by hand from the formulae of Jongkees, Maas, Philipszoon 1962
    found = caloric_ratios(*speeds)
    assert found["unilateral_weakness"] == pytest.approx(weakness, abs=0.051)
    assert found["directional_preponderance"] == pytest.approx(preponderance, abs=0.051)


def test_no_answer_has_no_ratio():
    assert set(caloric_ratios(0.0, 0.0, 0.0, 0.0).values()) == {None}
