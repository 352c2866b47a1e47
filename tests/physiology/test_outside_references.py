"""The model against libraries and values that are not of this project.

python-control and scipy.signal for linear systems (gain within 1e-6, phase within 1e-4 deg); closed
forms for step responses; the table and the fitting traps of the published first-order reflex,
worked out apart from this code to one more decimal than they are usually quoted.
"""

import control
import numpy as np
import pytest
from scipy import signal
from scipy.optimize import brentq, least_squares

from slowphase.physiology.canal import cupula
from slowphase.physiology.labyrinths import Labyrinths, Wiring, reflex_of
from slowphase.physiology.oculomotor import GRID_HZ, Oculomotor, eye_motion
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid
from slowphase.physiology.saccade import MainSequence, duration_s, peak_velocity
from slowphase.physiology.storage import effective, two_stage
from slowphase.physiology.transfer import Transfer, frequency_response, step_response
from slowphase.physiology.truth import noise_free_velocity, sinusoid_truth

OCTAVES_HZ = np.array([0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64])
FILTERS = {
    "canal": (cupula(4.2), [4.2, 0.0], [4.2, 1.0]),
    "reflex": (
        effective(20.0, 175.0),
        [20.0 * 175.0, 0.0, 0.0],
        np.polymul([20.0, 1.0], [175.0, 1.0]),
    ),
    "short reflex": (
        effective(2.0, 80.0),
        [160.0, 0.0, 0.0],
        np.polymul([2.0, 1.0], [80.0, 1.0]),
    ),
}


def _agrees(found, expected):
    np.testing.assert_allclose(np.abs(found), np.abs(expected), rtol=1e-6)
    apart = np.degrees(np.angle(np.asarray(found) / np.asarray(expected)))
    np.testing.assert_allclose(apart, 0.0, atol=1e-4)


@pytest.mark.parametrize("name", FILTERS)
def test_gain_and_phase_are_those_of_python_control_and_scipy(name):
    ours, over, under = FILTERS[name]
    found = frequency_response(ours, OCTAVES_HZ)
    omega = 2 * np.pi * OCTAVES_HZ
    theirs = control.frequency_response(control.TransferFunction(over, under), omega)
    _agrees(found, theirs.magnitude * np.exp(1j * theirs.phase))
    _agrees(found, signal.freqs(over, under, omega)[1])


@pytest.mark.parametrize("frequency_hz", OCTAVES_HZ)
def test_gain_and_phase_of_a_whole_reflex_are_those_of_python_control(frequency_hz):
    """Two labyrinths, linear, with latency: −eye/head of the truth that tests are held against."""
    linear = Wiring(resting_per_s=1e6, largest_per_s=1e7, gain=0.7, decay_s=16.0, adaptation_s=90.0)
    person = Person(reflex=reflex_of(Labyrinths(wiring=linear)))
    truth = sinusoid_truth(person, sinusoid(frequency_hz), 0.0)
    over, under = [16.0 * 90.0, 0.0, 0.0], np.polymul([16.0, 1.0], [90.0, 1.0])
    omega = 2 * np.pi * frequency_hz
    theirs = 0.7 * control.TransferFunction(over, under)(1j * omega) * np.exp(-0.008j * omega)
    _agrees(truth["gain"] * np.exp(1j * np.radians(truth["phase"])), theirs)


def test_simulated_motion_in_time_is_that_of_python_control():
    person = Person(reflex=reflex_of(Labyrinths(0.9, 0.9, wiring=Wiring(resting_per_s=1e6))))
    time_s = np.arange(0.0, 90.0, 0.01)
    head = np.interp(time_s, [5.0, 6.0, 60.0, 61.0], [0.0, 100.0, 100.0, 0.0])
    direction = person.reflex.right
    decay_s, adaptation_s = direction.dynamics.decay_s, direction.dynamics.adaptation_s
    system = control.TransferFunction(
        [decay_s * adaptation_s, 0.0, 0.0], np.polymul([decay_s, 1.0], [adaptation_s, 1.0])
    )
    expected = -direction.gain * control.forced_response(system, time_s, head).outputs
    late = np.interp(time_s - 0.008, time_s, expected)
    found = noise_free_velocity(person, sinusoid(0.1), head, 100.0)
    np.testing.assert_allclose(found, late, atol=0.02)  # saturation at 600 deg/s is in ours only


def test_step_responses_are_the_closed_forms():
    time_s = np.linspace(0.0, 90.0, 901)
    np.testing.assert_allclose(step_response(cupula(4.2), time_s), np.exp(-time_s / 4.2), atol=1e-9)
    slow, quick = 175.0 * np.exp(-time_s / 20.0), 20.0 * np.exp(-time_s / 175.0)
    np.testing.assert_allclose(
        step_response(effective(20.0, 175.0), time_s), (slow - quick) / 155.0, atol=1e-9
    )
    # cupula Tc, store Ts, weight w: a·exp(−t/Tc) + (1 − a)·exp(−t/Ts), a = 1 − w
    both = 0.3 * np.exp(-time_s / 5.0) + 0.7 * np.exp(-time_s / 18.0)
    np.testing.assert_allclose(
        step_response(two_stage(18.0, cupula_s=5.0, store_weight=0.7), time_s), both, atol=1e-9
    )


# Leads in deg and relative gains of a first-order reflex, from atan(1/(2πfT)) with numpy alone.
FIRST_ORDER = {
    5.0: [(72.56, 0.300), (57.86, 0.532), (38.51, 0.782), (21.70, 0.929), (11.25, 0.981)],
    10.0: [(57.86, 0.532), (38.51, 0.782), (21.70, 0.929), (11.25, 0.981), (5.68, 0.995)],
    15.0: [(46.70, 0.686), (27.95, 0.883), (14.86, 0.967), (7.55, 0.991), (3.79, 0.998)],
    20.0: [(38.51, 0.782), (21.70, 0.929), (11.25, 0.981), (5.68, 0.995), (2.85, 0.999)],
}


@pytest.mark.parametrize("decay_s", FIRST_ORDER)
def test_table_of_the_first_order_reflex(decay_s):
    response = frequency_response(effective(decay_s, np.inf), OCTAVES_HZ[:5])
    leads, gains = zip(*FIRST_ORDER[decay_s], strict=True)
    np.testing.assert_allclose(np.degrees(np.angle(response)), leads, atol=0.00501)
    np.testing.assert_allclose(np.abs(response), gains, atol=0.000501)


def test_adaptation_of_80_s_leads_further_and_misleads_the_first_order_formula():
    response = frequency_response(effective(15.0, 80.0), OCTAVES_HZ[:4])
    lead = np.degrees(np.angle(response))
    np.testing.assert_allclose(lead, [57.95, 33.63, 17.70, 8.98], atol=0.00501)
    formula_s = 1 / (2 * np.pi * 0.01 * np.tan(np.radians(lead[0])))
    assert formula_s == pytest.approx(9.97, abs=0.00501)


TIME_S = np.arange(0.0, 45.0, 0.01)
# Truth T and bias; the single exponential without offset, and the crossing of 1/e of the raw peak:
# least squares and root finding on the closed forms, with scipy alone.
TRAPS = [
    (15.0, 3.0, 18.88, 17.32),
    (15.0, -3.0, 11.64, 12.99),
    (15.0, 5.0, 21.62, 19.09),
    (5.0, 3.0, 7.53, 5.77),
    (5.0, -3.0, 3.73, 4.33),
]


def _single_s(response):
    def miss(p):
        return p[0] * np.exp(-TIME_S / p[1]) - response

    return least_squares(miss, [36.0, 12.0], xtol=1e-14, ftol=1e-14, gtol=1e-14).x[1]


def _model(transfer: Transfer, bias=0.0):
    return lambda t: 36.0 * step_response(transfer, np.atleast_1d(t)) + bias


def _crossing_s(model):
    level = float(model(0.0)[0]) / np.e
    return brentq(lambda t: float(model(t)[0]) - level, 0.001, 60.0)


@pytest.mark.parametrize(("decay_s", "bias", "single_s", "crossing_s"), TRAPS)
def test_a_bias_misleads_both_plain_readings(decay_s, bias, single_s, crossing_s):
    model = _model(effective(decay_s, np.inf), bias)
    assert _single_s(model(TIME_S)) == pytest.approx(single_s, abs=0.00501)
    assert _crossing_s(model) == pytest.approx(crossing_s, abs=0.00501)


def test_adaptation_misleads_both_plain_readings_and_reverses_the_response():
    model = _model(effective(15.0, 80.0))
    assert _single_s(model(TIME_S)) == pytest.approx(9.93, abs=0.00501)
    assert _crossing_s(model) == pytest.approx(11.61, abs=0.00501)
    assert brentq(lambda t: float(model(t)[0]), 20.0, 40.0) == pytest.approx(30.90, abs=0.00501)


@pytest.mark.parametrize("cupula_s", [4.0, 5.0, 6.0])
@pytest.mark.parametrize("store_s", [15.0, 18.0, 20.0])
@pytest.mark.parametrize("store_weight", [0.85, 1.0])
def test_storage_makes_12_to_20_s_of_a_cupula_of_4_to_6_s(cupula_s, store_s, store_weight):
    """Cupula 4.2 ± 0.6 s, reflex upright 19.6 ± 3.2 s (abstracts read): storage lies between."""
    charge = store_weight * (1 / cupula_s - 1 / store_s)
    states = [[-1 / cupula_s, 0.0], [-charge, -1 / store_s]]
    reflex = control.StateSpace(states, [[1 / cupula_s], [charge]], [[-1.0, 1.0]], [[1.0]])
    time_s = np.linspace(0.0, 60.0, 6001)
    ours = step_response(two_stage(store_s, cupula_s=cupula_s, store_weight=store_weight), time_s)
    np.testing.assert_allclose(ours, control.step_response(reflex, time_s).outputs, atol=1e-6)
    step_s = time_s[1]  # the crossing is found to one step of the grid
    assert 12.0 <= time_s[np.argmax(ours < 1 / np.e)] <= 20.0 + 2 * step_s
    alone = step_response(cupula(cupula_s), time_s)
    assert time_s[np.argmax(alone < 1 / np.e)] == pytest.approx(cupula_s, abs=0.02)


@pytest.mark.parametrize(
    ("size_deg", "slowest", "fastest"), [(5.0, 150, 350), (10.0, 250, 500), (20.0, 350, 700)]
)
def test_main_sequence_lies_in_the_usual_range(size_deg, slowest, fastest):
    # limits of clinical saccade tests: common practice, no source
    assert slowest < peak_velocity(MainSequence(), size_deg) < fastest
    assert 0.02 < duration_s(size_deg, peak_velocity(MainSequence(), size_deg)) < 0.1


@pytest.mark.parametrize(
    ("speed_deg_s", "fewest", "most"), [(5, 0.5, 2.5), (20, 1.5, 4), (60, 2, 5)]
)
def test_beats_a_second_lie_in_the_usual_range(speed_deg_s, fewest, most):
    # 1 to 5 beats a second from moderate to strong nystagmus: common practice, no source
    wanted = np.full(int(60 * GRID_HZ), float(speed_deg_s))
    motion = eye_motion(Oculomotor(), wanted, np.random.default_rng(2))
    beats = motion.saccades.amplitude_deg < -1.0
    assert fewest < np.count_nonzero(beats) / 60.0 < most
    assert 2.0 < np.median(-motion.saccades.amplitude_deg[beats]) < 20.0
