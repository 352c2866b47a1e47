"""Retest variability from pairs: against published and general computations."""

import numpy as np
import pytest

from slowphase.course.reliability import (
    bias_slope,
    icc_agreement,
    shrunk_correlation,
    spread_slope,
)

# Shrout and Fleiss 1979 Psychol Bull 86:420, Table 2: six targets, four judges. From memory.
RATINGS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float
)


def test_the_coefficient_is_that_of_shrout_and_fleiss():
    """ICC(2,1) = 0.29; its interval 0.02 to 0.76 as general packages print it (memory)."""
    found = icc_agreement(RATINGS)
    assert found.value == pytest.approx(0.29, abs=5e-3)
    assert found.low == pytest.approx(0.02, abs=5e-3)
    assert found.high == pytest.approx(0.76, abs=5e-3)


def test_the_coefficient_follows_from_the_analysis_of_variance_of_statsmodels():
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(2)
    people, k = 25, 2
    values = rng.normal(0, 1, (people, 1)) + rng.normal(0, 0.4, (people, k)) + [0.0, 0.2]
    frame = pd.DataFrame({
        "value": values.ravel(),
        "who": np.repeat(np.arange(people), k).astype(str),
        "when": np.tile(np.arange(k), people).astype(str),
    })  # fmt: skip
    table = anova_lm(ols("value ~ who + when", frame).fit())["mean_sq"]
    between, sittings, rest = table["who"], table["when"], table["Residual"]
    expected = (between - rest) / (between + (k - 1) * rest + k * (sittings - rest) / people)
    assert icc_agreement(values).value == pytest.approx(expected)


def test_the_interval_of_the_coefficient_covers():
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(600):
        values = rng.normal(0, 1, (20, 1)) + rng.normal(0, 0.5, (20, 2))
        found = icc_agreement(values)
        held += found.low <= 0.8 <= found.high
    assert 0.92 < held / 600 < 0.99


def test_nothing_that_varies_gives_no_coefficient():
    assert icc_agreement(np.ones((5, 2))).value is None
    assert icc_agreement(np.ones((2, 2))).value is None


def test_slopes_are_those_of_scipy():
    from scipy.stats import linregress

    rng = np.random.default_rng(6)
    values = rng.normal(10, 2, (30, 2))
    means, difference = values.mean(axis=1), values[:, 1] - values[:, 0]
    assert bias_slope(values).value == pytest.approx(linregress(means, difference).slope)
    size = np.abs(difference - difference.mean())
    assert spread_slope(values).value == pytest.approx(linregress(means, size).slope)


def test_a_difference_that_grows_with_the_measure_is_seen():
    rng = np.random.default_rng(7)
    usual = rng.uniform(0.2, 1.0, (60, 1))
    values = usual * np.exp(0.15 * rng.standard_normal((60, 2)))
    assert spread_slope(values).low > 0.0
    even = usual + 0.1 * rng.standard_normal((60, 2))
    found = spread_slope(even)
    assert found.low < 0.0 < found.high


def test_a_shrunk_correlation_is_one_and_nearer_to_none():
    rng = np.random.default_rng(9)
    shared = rng.standard_normal((15, 1))
    differences = 0.8 * shared + 0.6 * rng.standard_normal((15, 30))
    differences[3, 4] = np.nan
    found = shrunk_correlation(differences)
    assert np.allclose(np.diag(found), 1.0)
    assert np.linalg.eigvalsh(found).min() > 0.0
    many = shrunk_correlation(
        0.8 * rng.standard_normal((4000, 1)) + 0.6 * rng.standard_normal((4000, 5))
    )
    assert many[0, 1] == pytest.approx(0.64, abs=0.04)
