import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from slowphase.physiology.storage import effective, two_stage
from slowphase.physiology.transfer import (
    Transfer,
    filtered,
    frequency_response,
    high_pass,
    leaky_integral,
    step_response,
)

FREQUENCIES_HZ = np.array([0.001, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 2.0])
FILTERS = [
    high_pass(5.0),
    effective(15.0, 80.0),
    effective(20.0, np.inf),
    two_stage(18.0, cupula_s=5.0, store_weight=0.8),
    two_stage(18.0, store_weight=0.7) * high_pass(80.0),
]


def _scipy(transfer: Transfer) -> signal.ZerosPolesGain:
    return signal.ZerosPolesGain(transfer.zeros, transfer.poles, 1.0)


@pytest.mark.parametrize("transfer", FILTERS)
def test_frequency_response_is_that_of_scipy(transfer):
    _, expected = signal.freqresp(_scipy(transfer), w=2 * np.pi * FREQUENCIES_HZ)
    np.testing.assert_allclose(frequency_response(transfer, FREQUENCIES_HZ), expected, rtol=1e-9)


@pytest.mark.parametrize("transfer", FILTERS)
def test_step_response_is_that_of_scipy(transfer):
    time_s = np.linspace(0.0, 60.0, 601)
    _, expected = signal.step(_scipy(transfer), T=time_s)
    np.testing.assert_allclose(step_response(transfer, time_s), expected, atol=1e-7)


@pytest.mark.parametrize("transfer", FILTERS)
def test_filter_at_50_hz_is_exact_for_motion_linear_between_samples(transfer):
    time_s = np.arange(0.0, 120.0, 0.02)
    head = 100 * np.clip(time_s - 2, 0, 1) - 100 * np.clip(time_s - 60, 0, 1)
    _, expected, _ = signal.lsim(_scipy(transfer), head, time_s, interp=True)
    np.testing.assert_allclose(filtered(transfer, head, 50.0), expected, atol=1e-6)


def test_filter_does_not_depend_on_the_sampling_rate():
    ends = [
        filtered(effective(), np.interp(np.arange(0, 30, 1 / rate), [1, 2, 30], [0, 90, 90]), rate)
        for rate in (50.0, 1000.0)
    ]
    np.testing.assert_allclose(ends[0], ends[1][::20], atol=1e-6)


def test_equal_time_constants_are_the_limit_of_close_ones():
    time_s = np.linspace(0.0, 60.0, 61)
    equal = step_response(effective(30.0, 30.0), time_s)
    # double pole: (1 − t/T)·exp(−t/T), by hand
    np.testing.assert_allclose(equal, (1 - time_s / 30) * np.exp(-time_s / 30), atol=1e-5)


def test_a_store_that_makes_up_for_the_cupula_leaves_one_exponential():
    time_s = np.linspace(0.0, 60.0, 61)
    whole = step_response(two_stage(16.0, cupula_s=5.0), time_s)
    np.testing.assert_allclose(whole, np.exp(-time_s / 16.0), atol=1e-9)


def test_a_weaker_store_lasts_longer_than_the_cupula_and_shorter_than_the_store():
    at_ten_s = float(step_response(two_stage(16.0, store_weight=0.7), np.array([10.0]))[0])
    assert np.exp(-10 / 5) < at_ten_s < np.exp(-10 / 16)


@given(st.floats(0.0, 2.0), st.floats(-50.0, 50.0))
def test_leaky_integral_of_a_constant_is_known_in_closed_form(rate, value):
    time_s = np.arange(500) / 100.0
    solution = leaky_integral(rate, np.full(500, value), 100.0)
    expected = value * (time_s if rate < 1e-12 else -np.expm1(-rate * time_s) / rate)
    np.testing.assert_allclose(solution, expected, rtol=1e-7, atol=1e-9)


@given(st.floats(-5.0, 5.0))
def test_filter_is_linear(factor):
    head = np.sin(np.arange(300) / 20.0)
    np.testing.assert_allclose(
        filtered(effective(), factor * head, 50.0),
        factor * filtered(effective(), head, 50.0),
        atol=1e-9,
    )
