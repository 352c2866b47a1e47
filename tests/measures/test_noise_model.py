import numpy as np
import pytest
from scipy.stats import t as student

from slowphase.measures.generalised import drift_of
from slowphase.measures.interval import NOTHING, Estimate, Maker, propagate, symmetric, t_quantile
from slowphase.measures.noise_model import (
    TAUS_S,
    USUAL_EYES,
    NoiseModel,
    block_correlation,
    estimate_noise,
    grid_steps,
    sum_blocks,
)


def wandering(sd, tau_s, size, step_s, rng):
    """A first-order (Ornstein-Uhlenbeck) process."""
    keep = np.exp(-step_s / tau_s)
    out = np.empty(size)
    out[0] = rng.normal(0, sd)
    for i in range(1, size):
        out[i] = keep * out[i - 1] + rng.normal(0, sd * np.sqrt(1 - keep**2))
    return out


def found_noise(drift_sd, tau_s, white_sd, *, known_sd=1.0, runs=8):
    rng = np.random.default_rng(2)
    time = 0.2 * np.arange(1500)
    models = []
    for _ in range(runs):
        residual = wandering(drift_sd, tau_s, 1500, 0.2, rng) + rng.normal(0, white_sd, 1500)
        weight = np.full(1500, known_sd**-2.0)
        models.append(estimate_noise(time, weight, residual, np.ones((1500, 1))))
    return models


@pytest.mark.parametrize(("drift_sd", "tau_s"), [(0.5, 3.0), (1.0, 6.0)])
def test_a_known_drift_is_recovered(drift_sd, tau_s):
    models = found_noise(drift_sd, tau_s, 1.0)
    assert np.median([m.drift_deg_s for m in models]) == pytest.approx(drift_sd, rel=0.25)
    assert 0.5 < np.median([m.drift_s for m in models]) / tau_s < 2.0
    assert np.median([m.white for m in models]) == pytest.approx(1.0, rel=0.25)


def found_wavers(waver, prior, *, runs=20):
    """What is found of a waver under the two responses of a spin, with a drift and white scatter.

    Level, sizes and time constants are fitted, so that little of the waver is left to be seen.
    """
    rng = np.random.default_rng(3)
    time = 0.2 * np.arange(600)
    since = time % 60.0
    decay = 50.0 * np.exp(-since / 15.0)
    response = np.where(time < 60.0, -decay, decay)
    parts = [np.where(first, response, 0.0) for first in (time < 60.0, time >= 60.0)]
    columns = np.column_stack([np.ones(600), *parts, *(part * since for part in parts)])
    found = []
    for _ in range(runs):
        moved = response * wandering(waver, 5.0, 600, 0.2, rng)
        residual = moved + wandering(0.3, 2.0, 600, 0.2, rng) + rng.normal(0, 0.5, 600)
        residual -= columns @ np.linalg.lstsq(columns, residual, rcond=None)[0]
        weight = np.full(600, 1.0)
        found.append(estimate_noise(time, weight, residual, columns, prior, response).waver)
    return np.array(found)


@pytest.mark.parametrize("waver", [0.02, 0.04])
def test_a_known_waver_is_recovered(waver):
    found = found_wavers(waver, USUAL_EYES.of_the_drowsy())
    assert np.sqrt(np.mean(found**2)) == pytest.approx(waver, rel=0.15)


def test_a_steady_response_has_next_to_no_waver():
    assert np.median(found_wavers(0.0, USUAL_EYES)) < 0.007


def test_a_grid_counts_as_the_trapezoidal_rule_does():
    points = np.array([0.0, 0.005, 0.01, 0.02, 0.08])
    values = np.cos(9.0 * points)
    assert grid_steps(points) @ values == pytest.approx(np.trapezoid(values, points))
    assert grid_steps(np.zeros(1)) == pytest.approx([1.0])


def test_a_drift_shorter_than_the_blocks_keeps_its_power():
    # What a mean over minutes suffers from is variance times correlation time: as drift, or as
    # white noise where the blocks are too long to tell.
    models = found_noise(2.0, 1.5, 1.0)
    time = 0.2 * np.arange(1500)
    ones = np.ones((1500, 1))
    found = [
        drift_of(time, model).products(ones, np.full(1500, 1.0 / model.white))[0, 0] ** -1.0
        for model in models
    ]
    expected = 2 * 2.0**2 * 1.5 / 300.0 + 1.0 / 1500
    assert 0.8 < np.median(found) / expected < 1.7


def test_white_scatter_beyond_the_known_noise_is_white_and_not_drift():
    models = found_noise(0.0, 1.0, 2.0, known_sd=1.0)
    assert np.median([m.white for m in models]) == pytest.approx(4.0, rel=0.2)
    assert np.median([m.drift_deg_s for m in models]) < 0.4


def test_a_recording_too_short_for_a_drift_has_none_and_the_scatter_counts_in_full():
    time = 0.2 * np.arange(6)
    model = estimate_noise(time, np.ones(6), np.full(6, 0.01), np.ones((6, 1)))
    assert model.drift_deg_s == 0.0
    assert model.white >= 1.0


def test_drift_that_lasts_longer_leaves_fewer_degrees_of_freedom_and_never_none():
    def degrees(index):
        variances = [0.0] * len(TAUS_S)
        variances[index] = 1.0
        return NoiseModel(tuple(variances), 1.0, 120.0).degrees(3)

    found = [degrees(index) for index in range(len(TAUS_S))]
    assert found == sorted(found, reverse=True)
    assert min(found) >= 1.0


def test_the_covariance_of_the_drift_is_its_variance_at_no_lag_and_dies_out():
    variances = [0.0] * len(TAUS_S)
    variances[2] = 4.0
    model = NoiseModel(tuple(variances), 1.0, 100.0)
    matrix = model.drift_covariance(np.array([0.0, 3.0, 300.0]))
    assert matrix[0, 0] == pytest.approx(4.0)
    assert matrix[0, 1] == pytest.approx(4.0 * np.exp(-3.0 / TAUS_S[2]))
    assert matrix[0, 2] == pytest.approx(0.0, abs=1e-12)


def test_blocks_are_weighted_means_and_unused_observations_do_not_count():
    time = np.array([0.0, 0.4, 1.2, 1.6, 2.5])
    weight = np.array([1.0, 3.0, 2.0, 2.0, 0.0])
    residual = np.array([1.0, 5.0, 2.0, 4.0, 99.0])
    blocks = sum_blocks(time, weight, residual, np.ones((5, 1)), 1.0)
    assert blocks.residual == pytest.approx([4.0, 3.0])
    assert blocks.weight == pytest.approx([4.0, 4.0])
    assert blocks.time_s == pytest.approx([0.3, 1.4])


@pytest.mark.parametrize("degrees", [4.0, 5.0, 10.0, 30.0, 300.0])
def test_student_s_quantile_agrees_with_scipy(degrees):
    assert t_quantile(degrees) == pytest.approx(student.ppf(0.975, degrees), abs=0.001)


def test_errors_propagate_through_a_ratio_as_calculus_says():
    covariance = np.array([[0.04, 0.01], [0.01, 0.09]])
    value, error = propagate(lambda p: np.array([p[0] / p[1]]), np.array([2.0, 4.0]), covariance)
    gradient = np.array([1 / 4.0, -2.0 / 16.0])
    assert value[0] == pytest.approx(0.5)
    assert error[0] == pytest.approx(np.sqrt(gradient @ covariance @ gradient), rel=1e-3)


def test_a_missing_measure_must_say_why():
    with pytest.raises(ValueError, match="sin/gain is missing without a reason"):
        Maker("sin")("gain", NOTHING, "1")


@pytest.mark.parametrize("value", [None, float("nan"), float("inf")])
def test_a_value_that_is_no_number_becomes_a_missing_measure(value):
    measure = Maker("sin", ("no_response",))("phase", Estimate(value, 1.0, 2.0), "deg")
    assert (measure.value, measure.low, measure.high) == (None, None, None)
    assert measure.grade == "unusable"


def test_a_measure_carries_its_place_its_reasons_once_and_the_worst_grade():
    make = Maker("step", ("low_alertness", "stopped_early"))
    measure = make("gain", symmetric(0.5, 0.1, 2.0), "1", of="per", why=("stopped_early",))
    assert measure.id == "step/per/gain"
    assert measure.why == ("stopped_early", "low_alertness")
    assert measure.grade == "caution"
    assert (measure.low, measure.high) == (pytest.approx(0.3), pytest.approx(0.7))


def test_means_over_blocks_have_the_covariance_that_integration_gives():
    fine, length, tau = np.arange(0.005, 4.0, 0.01), 4.0, 1.5
    lag = np.array([[0.0, 4.0, 9.0]])
    found = block_correlation(lag, length, tau)
    expected = [np.mean(np.exp(-np.abs(fine[:, None] - fine - d) / tau)) for d in lag[0]]
    assert found[0] == pytest.approx(expected, rel=1e-3)
