"""The same sums by well-known libraries that share no code with the project.

statsmodels (least squares, generalised and robust), lmfit (nonlinear least squares) and
python-control (linear systems): on identical inputs they must agree within numerical error, or
within the stopping rule of the fit where that is the larger.
"""

import control
import numpy as np
import pytest
import statsmodels.api as sm
from lmfit import Model
from statsmodels.robust.norms import TukeyBiweight

from slowphase.measures.generalised import drift_of
from slowphase.measures.least_squares import certified_fit
from slowphase.measures.noise_model import TAUS_S, NoiseModel
from slowphase.measures.reflex import Motion
from slowphase.measures.regression import (
    BISQUARE_SD,
    STILL,
    Data,
    believed_noise,
    bisquare,
    no_prior,
    robust_fit,
    robust_point,
    sandwich,
)
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid_measures import chair_amplitude
from slowphase.measures.steady import direction_response
from slowphase.physiology.storage import effective, two_stage
from slowphase.physiology.transfer import filtered, frequency_response, step_response

FREQUENCIES_HZ = np.array([0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.0])


def waves(time_s, frequency_hz=0.16):
    """Columns of a sinusoid with offset, shape (n, 3)."""
    angle = 2 * np.pi * frequency_hz * time_s
    return np.column_stack([np.cos(angle), np.sin(angle), np.ones_like(angle)])


def noisy_wave(seed=0, size=240, *, outliers=0.0):
    """Times, columns, slow phase (deg/s) and the known noise of each observation."""
    rng = np.random.default_rng(seed)
    time = np.sort(rng.uniform(0.0, 60.0, size))
    columns = waves(time)
    noise = rng.uniform(0.5, 2.0, size)
    observed = columns @ np.array([30.0, -12.0, 3.0]) + noise * rng.normal(size=size)
    return time, columns, observed + outliers * (rng.uniform(size=size) < 0.1), noise


def decay_data(seed=0, size=200):
    time = np.linspace(0.0, 40.0, size)
    noise = np.linspace(0.5, 2.0, size)
    speed = 40.0 * np.exp(-time / 12.0) + 3.0
    return time, speed + noise * np.random.default_rng(seed).normal(size=size), noise


def decaying(x, a, t, c):
    return a * np.exp(-x / t) + c


# --- statsmodels -------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_a_sinusoid_and_its_standard_errors_are_those_of_ordinary_least_squares(seed):
    _, columns, observed, _ = noisy_wave(seed)
    ours, errors = certified_fit(lambda p: columns @ p, np.zeros(3), observed)
    theirs = sm.OLS(observed, columns).fit()
    assert ours == pytest.approx(theirs.params, rel=1e-9)
    assert errors == pytest.approx(theirs.bse, rel=1e-8)


def test_the_amplitude_of_the_chair_is_that_of_ordinary_least_squares():
    time = np.arange(0.0, 60.0, 0.01)
    head = waves(time) @ np.array([20.0, 55.0, 0.4])
    head += np.random.default_rng(1).normal(0.0, 0.5, time.size)
    moving = np.flatnonzero(np.abs(head) > 0.05 * np.abs(head).max())
    part = slice(moving[0], moving[-1] + 1)
    theirs = sm.OLS(head[part], waves(time[part])).fit().params
    assert chair_amplitude(time, head, 0.16, MeasureSettings()) == pytest.approx(
        complex(theirs[0], -theirs[1])
    )


@pytest.mark.parametrize("seed", range(3))
def test_the_engine_without_reweighting_is_weighted_least_squares(seed):
    time, columns, observed, noise = noisy_wave(seed)
    data = Data(time, observed, noise, np.ones(time.size))
    fit = robust_fit(lambda p: columns @ p, np.zeros(3), data, no_prior(3), robust=False)
    weights = 1.0 / (noise**2 + fit.scatter**2)
    theirs = sm.WLS(observed, columns, weights=weights).fit()
    assert fit.parameters == pytest.approx(theirs.params, rel=1e-6)
    assert fit.residual == pytest.approx(theirs.resid, abs=1e-5)


def test_without_drift_the_covariance_is_that_of_weighted_least_squares_of_known_scale():
    time, columns, observed, noise = noisy_wave()
    white = NoiseModel((0.0,) * len(TAUS_S), 1.7, 60.0)
    ours = sandwich(time, noise**-2, columns, no_prior(3), white)
    theirs = sm.WLS(observed, columns, weights=noise**-2).fit(
        cov_type="fixed scale", cov_kwds={"scale": 1.7}
    )
    assert ours == pytest.approx(theirs.cov_params(), rel=1e-8)


def written_out(drift, white):
    """Covariance of the observations, shape (p, p), without any shortcut."""
    blocks = np.ix_(drift.block, drift.block)
    pairs = zip(drift.loadings, drift.covariances, strict=True)
    return sum(np.outer(load, load) * one[blocks] for load, one in pairs) + np.diag(white)


def test_the_products_under_a_drift_are_those_of_generalised_least_squares():
    time, columns, observed, noise = noisy_wave()
    drift = drift_of(time, NoiseModel((0.4, 1.1, 0.6), 1.0, 60.0))
    theirs = sm.GLS(observed, columns, sigma=written_out(drift, noise**2)).fit()
    products = drift.products(np.column_stack([columns, observed]), noise**-2)
    information, right = products[:-1, :-1], products[:-1, -1]
    assert np.linalg.solve(information, right) == pytest.approx(theirs.params, rel=1e-8)
    assert np.linalg.inv(information) == pytest.approx(theirs.normalized_cov_params, rel=1e-8)
    squares = products[-1, -1] - right @ theirs.params
    assert squares == pytest.approx(theirs.scale * theirs.df_resid, rel=1e-8)


@pytest.mark.parametrize("seed", range(3))
def test_a_fit_in_which_nothing_is_an_outlier_is_generalised_least_squares(seed):
    time, columns, observed, noise = noisy_wave(seed)
    keep = np.random.default_rng(seed + 10)
    observed = observed + np.interp(time, np.arange(0, 61, 3.0), keep.normal(0, 2.0, 21))
    data = Data(time, observed, noise, np.ones(time.size), outlier_sd=np.inf)
    fit = robust_fit(lambda p: columns @ p, np.zeros(3), data, no_prior(3))
    drift = drift_of(time, fit.noise)
    theirs = sm.GLS(observed, columns, sigma=written_out(drift, fit.variance)).fit()
    assert fit.noise.drift_deg_s > 0.5
    assert fit.parameters == pytest.approx(theirs.params, rel=1e-6)
    # The interval leaves contrasts within blocks out, and takes the noise of what is believed.
    believed = fit.variance * believed_noise(fit.residual, fit.variance, fit.weight)
    level = drift.levelled(columns, 1.0 / believed)
    theirs = sm.GLS(observed, level, sigma=written_out(drift, believed)).fit()
    assert fit.covariance == pytest.approx(theirs.normalized_cov_params, rel=1e-5)


def test_the_bisquare_is_that_of_robust_regression():
    distance = np.linspace(-8.0, 8.0, 401)
    for limit in (BISQUARE_SD, 3.0, 9.0):
        theirs = TukeyBiweight(c=limit).weights(distance)
        assert bisquare(distance, limit) == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_robust_points_are_those_of_robust_regression_with_the_same_loss(seed):
    # One observation in ten is 40 deg/s off; both take the scale from the median of |residual|.
    time, columns, observed, _ = noisy_wave(seed, outliers=40.0)
    data = Data(time, observed, np.full(time.size, 1e-6), np.ones(time.size))
    ours = robust_point(lambda p: columns @ p, np.zeros(3), data, no_prior(3))
    theirs = sm.RLM(observed, columns, M=TukeyBiweight(c=BISQUARE_SD)).fit(tol=1e-10, maxiter=500)
    plain = sm.OLS(observed, columns).fit().params
    assert np.all(np.abs(ours - theirs.params) <= 2 * STILL * theirs.bse)
    assert abs(plain[2] - theirs.params[2]) > 10 * theirs.bse[2]


# --- lmfit -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_a_weighted_decay_is_that_of_lmfit(seed):
    time, speed, noise = decay_data(seed)
    data = Data(time, speed, noise, np.ones(time.size))
    start = np.array([30.0, 8.0, 0.0])
    ours = robust_fit(lambda p: decaying(time, *p), start, data, no_prior(3), robust=False)
    weights = 1.0 / np.hypot(noise, ours.scatter)
    theirs = Model(decaying).fit(speed, x=time, weights=weights, a=30.0, t=8.0, c=0.0)
    for index, name in enumerate("atc"):
        parameter = theirs.params[name]
        assert abs(ours.parameters[index] - parameter.value) <= STILL * parameter.stderr


@pytest.mark.parametrize("seed", range(3))
def test_the_covariance_of_a_decay_is_that_of_lmfit(seed):
    time, speed, noise = decay_data(seed)
    theirs = Model(decaying).fit(
        speed, x=time, weights=1.0 / noise, scale_covar=False, a=30.0, t=8.0, c=0.0
    )
    a, t, _ = (theirs.params[name].value for name in "atc")
    falling = np.exp(-time / t)  # the derivatives by calculus
    jacobian = np.column_stack([falling, a * time / t**2 * falling, np.ones_like(time)])
    white = NoiseModel((0.0,) * len(TAUS_S), 1.0, 40.0)
    ours = sandwich(time, noise**-2, jacobian, no_prior(3), white)
    assert ours == pytest.approx(theirs.covar, rel=2e-4)


def test_a_sinusoid_of_unknown_frequency_and_its_standard_errors_are_those_of_lmfit():
    time, _, observed, _ = noisy_wave(2)

    def wave(x, f, a, b, c):
        return a * np.cos(2 * np.pi * f * x) + b * np.sin(2 * np.pi * f * x) + c

    start = {"f": 0.158, "a": 20.0, "b": 0.0, "c": 0.0}
    ours, errors = certified_fit(lambda p: wave(time, *p), np.array([*start.values()]), observed)
    exactly = {"jac": "3-point", "xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
    theirs = Model(wave).fit(observed, x=time, method="least_squares", fit_kws=exactly, **start)
    for index, name in enumerate(start):
        assert ours[index] == pytest.approx(theirs.params[name].value, rel=1e-6)
        assert errors[index] == pytest.approx(theirs.params[name].stderr, rel=1e-4)


# --- python-control ----------------------------------------------------------------------------


def one_decay(decay_s, adaptation_s):
    """s²·T·Ta / ((1 + s·T)(1 + s·Ta)), by its polynomials."""
    both = decay_s * adaptation_s
    return control.TransferFunction([both, 0.0, 0.0], [both, decay_s + adaptation_s, 1.0])


def cupula_and_store(store_s, cupula_s, weight):
    """c' = -c/Tc + head', x' = -x/Ts + w·(1/Tc - 1/Ts)·c, output c + x, as a system of states.

    c is head velocity less a state q with q' = (head - q)/Tc, so that no input is differentiated.
    """
    charge = weight * (1.0 / cupula_s - 1.0 / store_s)
    states = [[-1.0 / cupula_s, 0.0], [-charge, -1.0 / store_s]]
    return control.StateSpace(states, [[1.0 / cupula_s], [charge]], [[-1.0, 1.0]], [[1.0]])


SYSTEMS = {
    "usual": (effective(15.0, 80.0), one_decay(15.0, 80.0)),
    "short": (effective(3.5, 200.0), one_decay(3.5, 200.0)),
    "long": (effective(36.0, 40.0), one_decay(36.0, 40.0)),
    "two stages": (
        two_stage(18.0, cupula_s=5.0, store_weight=0.8),
        cupula_and_store(18.0, 5.0, 0.8),
    ),
    "weak store": (
        two_stage(12.0, cupula_s=4.2, store_weight=0.3),
        cupula_and_store(12.0, 4.2, 0.3),
    ),
}
every_system = pytest.mark.parametrize(("ours", "theirs"), SYSTEMS.values(), ids=SYSTEMS)


@every_system
def test_frequency_responses_are_those_of_python_control(ours, theirs):
    expected = theirs(2j * np.pi * FREQUENCIES_HZ)
    assert frequency_response(ours, FREQUENCIES_HZ) == pytest.approx(expected, rel=1e-10)


@every_system
def test_step_responses_are_those_of_python_control(ours, theirs):
    time = np.linspace(0.0, 90.0, 1801)
    expected = control.step_response(theirs, time).outputs
    assert step_response(ours, time) == pytest.approx(expected, abs=1e-9)


@every_system
def test_responses_to_a_spin_and_to_a_sinusoid_from_rest_are_those_of_python_control(ours, theirs):
    time = np.arange(0.0, 120.0, 0.02)
    spin = 100 * np.clip(time - 2, 0, 0.7) / 0.7 - 100 * np.clip(time - 60, 0, 0.7) / 0.7
    sine = np.where(time > 3, 60 * np.sin(2 * np.pi * 0.04 * (time - 3)), 0.0)
    for head in (spin, sine):
        expected = control.forced_response(theirs, time, head).outputs
        assert filtered(ours, head, 50.0) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize("decay_s", [3.0, 12.0, 30.0])
def test_the_response_that_the_measures_fit_is_that_of_python_control(decay_s):
    time = np.arange(0.0, 100.0, 0.05)
    motion = Motion(time, 60.0 * np.sin(2 * np.pi * 0.02 * time))
    system = one_decay(decay_s, 80.0)
    expected = control.forced_response(system, time, motion.velocity_deg_s).outputs
    assert motion.response(decay_s, 80.0) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize("frequency_hz", FREQUENCIES_HZ.tolist())
def test_the_steady_state_has_the_gain_and_lead_of_python_control(frequency_hz):
    magnitude, angle, _ = control.frequency_response(
        one_decay(12.0, 80.0), [2 * np.pi * frequency_hz]
    )
    found = direction_response(0.6, 12.0, 80.0, np.radians(-2.0), frequency_hz)
    assert abs(found) == pytest.approx(0.6 * float(np.squeeze(magnitude)), rel=1e-9)
    lead = np.degrees(float(np.squeeze(angle))) - 2.0
    assert np.degrees(np.angle(found)) == pytest.approx(lead, abs=1e-8)
