import numpy as np
import pytest
import statsmodels.api as sm

from slowphase.eye.robust_line import robust_line


def line_with_outliers(seed, count=60):
    rng = np.random.default_rng(seed)
    columns = np.column_stack([np.ones(count), rng.uniform(-20, 20, (count, 2))])
    values = columns @ [0.8, 1.1, -0.03] + rng.normal(0, 0.3, count)
    values[:: count // 6] += rng.normal(0, 15, values[:: count // 6].size)
    return columns, values


@pytest.mark.parametrize("seed", range(5))
def test_line_and_errors_agree_with_the_robust_regression_of_statsmodels(seed):
    columns, values = line_with_outliers(seed)
    ours = robust_line(columns, values, 4.685, 0.0)
    theirs = sm.RLM(values, columns, sm.robust.norms.TukeyBiweight(4.685)).fit(
        scale_est=sm.robust.scale.HuberScale(), cov="H1", maxiter=200
    )
    assert np.all(np.abs(ours.parameters - theirs.params) < 0.25 * theirs.bse)
    assert np.sqrt(np.diag(ours.covariance)) == pytest.approx(theirs.bse, rel=0.15)


def test_a_line_without_noise_is_found_to_the_last_digits():
    columns = np.column_stack([np.ones(6), [0.0, -10, 10, -20, 20, 5]])
    found = robust_line(columns, columns @ [2.0, 0.7], 4.685, 0.0)
    assert found.parameters == pytest.approx([2.0, 0.7], abs=1e-9)


def test_a_third_of_wild_points_does_not_move_the_line():
    rng = np.random.default_rng(1)
    place = np.tile([-20.0, -10, 0, 10, 20], 6)
    columns = np.column_stack([np.ones(30), place])
    values = columns @ [0.0, 1.0] + rng.normal(0, 0.2, 30)
    values[:9] = rng.uniform(-30, 30, 9)
    assert robust_line(columns, values, 4.685, 0.0).parameters[1] == pytest.approx(1.0, abs=0.02)
