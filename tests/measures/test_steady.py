import numpy as np
import pytest

from slowphase.measures.steady import SteadyState, asymmetry_pct, direction_response, peak_speeds


def test_a_direction_s_response_is_the_transfer_function_in_closed_form():
    found = direction_response(0.6, 15.0, 80.0, 0.1, 0.02)
    s = 2j * np.pi * 0.02
    exact = 0.6 * s**2 * 15.0 * 80.0 / ((1 + 15.0 * s) * (1 + 80.0 * s)) * np.exp(0.1j)
    assert found == pytest.approx(exact, rel=1e-9)


def test_the_fundamental_of_unequal_halves_is_their_mean():
    state = SteadyState(0.3 * np.exp(0.2j), 0.7 * np.exp(0.1j))
    cycle = state.cycle(60.0, 0.0)
    turn = np.exp(-2j * np.pi * np.arange(cycle.size) / cycle.size)
    measured = -2.0 * np.mean(cycle * turn) / 60.0
    assert state.fundamental == pytest.approx(measured, rel=1e-3)


@pytest.mark.parametrize("bends", [(0.1, 0.05), (-0.05, 0.2)])
def test_bent_halves_have_the_peaks_the_fundamental_and_the_mean_of_their_cycle(bends):
    state = SteadyState(0.6 * np.exp(0.2j), 0.7 * np.exp(0.2j), bends)
    cycle = state.cycle(60.0, 1.5, points=7200)
    turn = np.exp(-2j * np.pi * np.arange(cycle.size) / cycle.size)
    assert state.fundamental == pytest.approx(-2.0 * np.mean(cycle * turn) / 60.0, rel=1e-4)
    assert state.offset(60.0, 1.5) == pytest.approx(cycle.mean(), abs=1e-3)
    peaks = (1.5 - cycle.min()) / 60.0, (cycle.max() - 1.5) / 60.0
    assert state.half_gains == pytest.approx(peaks, rel=1e-4)


def test_the_offset_is_the_mean_of_the_cycle():
    state = SteadyState(0.3 + 0.1j, 0.7 - 0.05j)
    cycle = state.cycle(60.0, 2.5, points=7200)
    assert state.offset(60.0, 2.5) == pytest.approx(cycle.mean(), abs=1e-3)


def test_a_stronger_response_to_the_right_moves_the_mean_to_the_left():
    assert SteadyState(0.7 + 0j, 0.3 + 0j).offset(60.0, 0.0) < 0


def test_the_peak_speeds_of_a_cycle_are_leftward_then_rightward():
    assert peak_speeds(np.array([-30.0, 0.0, 20.0])) == (30.0, 20.0)
    assert peak_speeds(np.array([5.0, 20.0])) == (0.0, 20.0)


@pytest.mark.parametrize(
    ("cycle", "expected"),
    [([-30.0, 10.0], 50.0), ([-10.0, 30.0], -50.0), ([-5.0, -30.0], 100.0), ([0.0, 0.0], 0.0)],
)
def test_asymmetry_is_positive_when_right_beating_is_stronger(cycle, expected):
    # Right-beating nystagmus has leftward (negative) slow phases.
    assert asymmetry_pct(np.array(cycle)) == pytest.approx(expected)
