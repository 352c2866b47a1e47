"""First-order table, adaptation and fitting traps, worked out apart from this code."""

import numpy as np
import pytest
from scipy.optimize import brentq, curve_fit

from slowphase.physiology.canal import cupula
from slowphase.physiology.storage import Dynamics, effective, reflex_filter
from slowphase.physiology.transfer import frequency_response, high_pass, step_response

OCTAVES_HZ = np.array([0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64])
FIRST_ORDER = {
    5.0: [(72.6, 0.30), (57.9, 0.53), (38.5, 0.78), (21.7, 0.93), (11.3, 0.98), (5.7, 1), (2.8, 1)],
    10.0: [(57.9, 0.53), (38.5, 0.78), (21.7, 0.93), (11.3, 0.98), (5.7, 1), (2.8, 1), (1.4, 1)],
    15.0: [(46.7, 0.69), (27.9, 0.88), (14.9, 0.97), (7.6, 0.99), (3.8, 1), (1.9, 1), (0.9, 1)],
    20.0: [(38.5, 0.78), (21.7, 0.93), (11.3, 0.98), (5.7, 1), (2.8, 1), (1.4, 1), (0.7, 1)],
}
TIME_S = np.arange(0.0, 45.0, 0.01)
PEAK_DEG_S = 36.0


@pytest.mark.parametrize("decay_s", FIRST_ORDER)
def test_first_order_lead_and_relative_gain_are_those_of_the_table(decay_s):
    response = frequency_response(high_pass(decay_s), OCTAVES_HZ)
    leads, gains = zip(*FIRST_ORDER[decay_s], strict=True)
    np.testing.assert_allclose(np.degrees(np.angle(response)), leads, atol=0.0501)
    np.testing.assert_allclose(np.abs(response), gains, atol=0.00501)


def test_adaptation_of_80_s_adds_the_published_lead():
    response = frequency_response(effective(15.0, 80.0), OCTAVES_HZ[:4])
    np.testing.assert_allclose(np.degrees(np.angle(response)), [57.9, 33.6, 17.7, 9.0], atol=0.0501)


def test_first_order_formula_applied_to_an_adapting_reflex_is_10_s_not_15():
    lead = np.angle(frequency_response(effective(15.0, 80.0), np.array([0.01]))[0])
    assert 1 / (2 * np.pi * 0.01 * np.tan(lead)) == pytest.approx(10.0, abs=0.05)


def test_default_person_leads_as_healthy_adults_do_at_a_hundredth_of_a_hertz():
    # 41.6–45.1° by decade of age: Yu et al. 2022, Front Neurol 13:978442, first table read
    lead = np.degrees(np.angle(frequency_response(effective(), np.array([0.01]))[0]))
    assert 41.6 < lead < 45.1


def test_default_cupula_lies_within_the_published_values():
    # 4.2 ± 0.6 s (J Vestib Res 1999 9:293–301), 5.7 s (J Neurophysiol 2009 102:2232–2244)
    cupula_s = -1 / cupula().poles[0]
    assert 4.2 <= cupula_s <= 5.7


def test_no_cupula_means_one_effective_decay():
    assert reflex_filter(Dynamics(15.0, 80.0)) == effective(15.0, 80.0)


def _response(decay_s, bias=0.0, adaptation_s=np.inf):
    return PEAK_DEG_S * step_response(effective(decay_s, adaptation_s), TIME_S) + bias


def _single_exponential_s(response):
    (_, decay_s), _ = curve_fit(
        lambda t, peak, decay: peak * np.exp(-t / decay), TIME_S, response, p0=(36.0, 12.0)
    )
    return decay_s


def _crossing_s(response):
    return float(TIME_S[np.argmax(response < response[0] / np.e)])


@pytest.mark.parametrize(
    ("decay_s", "bias", "single_s"),
    [(15, 3, 18.9), (15, -3, 11.6), (15, 5, 21.6), (5, 3, 7.5), (5, -3, 3.7), (15, 0, 15.0)],
)
def test_a_bias_misleads_a_single_exponential_without_offset(decay_s, bias, single_s):
    assert _single_exponential_s(_response(decay_s, bias)) == pytest.approx(single_s, abs=0.06)


@pytest.mark.parametrize(("bias", "crossing_s"), [(3, 17.3), (-3, 13.0), (5, 19.1)])
def test_a_bias_misleads_the_crossing_of_the_raw_peak(bias, crossing_s):
    assert _crossing_s(_response(15.0, bias)) == pytest.approx(crossing_s, abs=0.06)


def test_adaptation_shortens_both_readings_and_reverses_the_response():
    response = _response(15.0, adaptation_s=80.0)
    assert _single_exponential_s(response) == pytest.approx(9.9, abs=0.06)
    assert _crossing_s(response) == pytest.approx(11.6, abs=0.06)
    reversal_s = brentq(
        lambda t: float(step_response(effective(15.0, 80.0), np.array([t]))[0]), 20.0, 40.0
    )
    assert reversal_s == pytest.approx(30.9, abs=0.06)
