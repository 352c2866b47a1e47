"""The median against the standard library's own, quantiles against NumPy's."""

import statistics

import numpy as np
import pytest

from slowphase.foundation.median import MANY, median, quantile


@pytest.mark.parametrize("size", [1, 2, 3, 4, 17, 500, 4001, 20_000])
def test_the_median_is_that_of_the_standard_library_to_the_last_bit(size: int) -> None:
    values = np.random.default_rng(size).normal(3.0, 50.0, size)
    assert median(values) == statistics.median(values.tolist())


def test_the_median_of_values_that_repeat_is_one_of_them_and_the_values_stay_in_order() -> None:
    values = np.array([2.0, 1.0, 2.0, 7.0, 2.0])
    assert median(values) == 2.0
    assert values.tolist() == [2.0, 1.0, 2.0, 7.0, 2.0]


@pytest.mark.parametrize("size", [MANY, MANY + 1, 30_001])
@pytest.mark.parametrize("order", ["in order", "backward", "far ends first", "nearly all alike"])
def test_the_median_of_many_values_does_not_hang_on_their_order(size: int, order: str) -> None:
    values = np.sort(np.random.default_rng(7).normal(0.0, 1.0, size))
    arranged = {
        "in order": values,
        "backward": values[::-1],
        "far ends first": values[np.argsort(-np.abs(values - values[size // 2]), kind="stable")],
        "nearly all alike": np.where(np.arange(size) % 10 == 0, values, 2.0),
    }[order]
    assert median(arranged) == statistics.median(arranged.tolist())


def test_the_median_holds_where_the_sample_it_looks_at_misleads() -> None:
    """Every sixteenth value is large: the bounds that they give do not hold the middle."""
    values = np.zeros(16 * 500)
    values[::16] = 100.0 + np.arange(500)
    values[1::16] = -np.arange(500.0)
    assert median(values) == 0.0


@pytest.mark.parametrize("size", [1, 2, 5, 50, 1001])
@pytest.mark.parametrize("share", [0.0, 0.02, 0.25, 0.5, 0.8, 0.95, 0.98, 0.995, 1.0])
def test_a_quantile_is_numpy_s_to_the_last_bit(size: int, share: float) -> None:
    values = np.random.default_rng(size).normal(-2.0, 9.0, size)
    assert quantile(values, share) == float(np.quantile(values, share))
