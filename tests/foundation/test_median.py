"""The median against the standard library's own."""

import statistics

import numpy as np
import pytest

from slowphase.foundation.median import median


@pytest.mark.parametrize("size", [1, 2, 3, 4, 17, 500, 4001])
def test_the_median_is_that_of_the_standard_library_to_the_last_bit(size: int) -> None:
    values = np.random.default_rng(size).normal(3.0, 50.0, size)
    assert median(values) == statistics.median(values.tolist())


def test_the_median_of_values_that_repeat_is_one_of_them_and_the_values_stay_in_order() -> None:
    values = np.array([2.0, 1.0, 2.0, 7.0, 2.0])
    assert median(values) == 2.0
    assert values.tolist() == [2.0, 1.0, 2.0, 7.0, 2.0]
