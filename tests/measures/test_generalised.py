import numpy as np
import pytest

from slowphase.measures.generalised import Drift, drift_of
from slowphase.measures.noise_model import TAUS_S, NoiseModel

VARIANCES = (0.0, 0.3, 0.1)


def scene(size=120, seed=5):
    rng = np.random.default_rng(seed)
    time = np.sort(rng.uniform(0, 30, size))
    columns = np.column_stack([np.ones(size), np.sin(time), rng.normal(size=size)])
    return time, columns, rng.uniform(0.5, 2.0, size)


def alike(drift):
    """Covariance of drift and waver between observations, written out."""
    blocks = np.ix_(drift.block, drift.block)
    pairs = zip(drift.loadings, drift.covariances, strict=True)
    return sum(np.outer(load, load) * covariance[blocks] for load, covariance in pairs)


def dense(drift, weight):
    """The same covariance written out: white noise, drift and waver."""
    return alike(drift) + np.diag(1.0 / weight)


def test_the_products_are_those_of_the_covariance_written_out():
    time, columns, weight = scene()
    noise = NoiseModel(VARIANCES, 1.0, 30.0)
    drift = drift_of(time, noise)
    inverse = np.linalg.inv(dense(drift, weight))
    assert drift.products(columns, weight) == pytest.approx(columns.T @ inverse @ columns)


def test_a_wavering_response_is_part_of_the_covariance():
    time, columns, weight = scene()
    noise = NoiseModel(VARIANCES, 1.0, 30.0, waver=0.1)
    response = 20.0 * columns[:, 1]
    drift = drift_of(time, noise, response)
    assert len(drift.loadings) == 2
    inverse = np.linalg.inv(dense(drift, weight))
    assert drift.products(columns, weight) == pytest.approx(columns.T @ inverse @ columns)
    expected = alike(drift) @ inverse @ response
    assert drift.expected(response, weight) == pytest.approx(expected)


def test_the_expected_drift_is_the_conditional_mean():
    time, columns, weight = scene()
    drift = drift_of(time, NoiseModel(VARIANCES, 1.0, 30.0))
    covariance = dense(drift, weight)
    expected = alike(drift) @ np.linalg.solve(covariance, columns[:, 2])
    assert drift.expected(columns[:, 2], weight) == pytest.approx(expected)


def test_without_drift_the_products_are_those_of_weighted_least_squares():
    time, columns, weight = scene()
    drift = drift_of(time, NoiseModel((0.0,) * len(TAUS_S), 1.0, 30.0))
    assert drift.products(columns, weight) == pytest.approx((columns.T * weight) @ columns)


def test_observations_without_weight_do_not_count():
    time, columns, weight = scene()
    weight[:40] = 0.0
    drift = drift_of(time, NoiseModel(VARIANCES, 1.0, 30.0))
    left = alike(drift)[40:, 40:] + np.diag(1.0 / weight[40:])
    expected = columns[40:].T @ np.linalg.solve(left, columns[40:])
    assert drift.products(columns, weight) == pytest.approx(expected)


def test_blocks_are_short_beside_the_memory_of_the_drift_and_few_enough_to_invert():
    long = np.linspace(0.0, 600.0, 6000)
    drift = drift_of(long, NoiseModel(VARIANCES, 1.0, 600.0))
    assert drift.covariances[0].shape[0] <= 161
    brief = np.linspace(0.0, 30.0, 300)
    assert np.max(np.bincount(drift_of(brief, NoiseModel(VARIANCES, 1.0, 30.0)).block)) <= 3


def test_levelled_loadings_have_the_covariance_of_their_kinds_written_out():
    time, columns, weight = scene()
    noise = NoiseModel(VARIANCES, 1.0, 30.0, waver=0.1)
    drift = drift_of(time, noise, 20.0 * columns[:, 1])
    level = drift.levelled(np.column_stack(drift.loadings), weight)
    written = alike(Drift(drift.block, tuple(level.T), drift.covariances))
    assert alike(drift.flat(weight)) == pytest.approx(written, rel=1e-12)


def test_levelled_columns_know_no_more_of_a_wavering_response_than_its_waver_allows():
    # A response that is known but for its strength: no precision of the samples can tell the gain
    # better than the mean of the waver over the recording.
    time = np.linspace(0.0, 60.0, 600)
    response = 30.0 * np.sin(2 * np.pi * 0.2 * time)
    noise = NoiseModel(VARIANCES, 1.0, 60.0, waver=0.05)
    drift = drift_of(time, noise, response)
    weight = np.full(600, 1e4)
    level = drift.levelled(response[:, None], weight)
    error = drift.flat(weight).products(level, weight)[0, 0] ** -0.5
    least = 0.05 * np.sqrt(2 * noise.waver_s / (60.0 + 2 * noise.waver_s))
    assert error >= 0.97 * least
