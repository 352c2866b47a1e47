"""Many measures: against statsmodels, and the 5 % that must hold."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.course.multiplicity import adjust, holm, step_down

CHANCES = st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=25)


@given(CHANCES)
def test_holm_agrees_with_statsmodels(p):
    from statsmodels.stats.multitest import multipletests

    assert holm(p) == pytest.approx(multipletests(p, method="holm")[1], abs=1e-12)


def test_independent_measures_step_down_as_statsmodels_has_it():
    """With no correlation the comparison with the largest is that of Holm and Šidák."""
    from statsmodels.stats.multitest import multipletests

    p = [0.003, 0.2, 0.04, 0.012, 0.7]
    expected = multipletests(p, method="holm-sidak")[1]
    assert step_down(p, np.eye(5)).p == pytest.approx(expected, abs=0.01)


def test_measures_that_are_one_count_as_one():
    alike = step_down([0.03, 0.03, 0.03], np.ones((3, 3)))
    assert alike.p == pytest.approx([0.03] * 3, abs=0.005)
    assert alike.first_level == pytest.approx(0.05, abs=0.004)


@given(CHANCES)
def test_an_adjusted_chance_is_never_smaller_and_keeps_the_order(p):
    adjusted = holm(p)
    assert all(after >= before for before, after in zip(p, adjusted, strict=True))
    order = np.argsort(p, kind="stable")
    assert np.all(np.diff(np.array(adjusted)[order]) >= 0)


@pytest.mark.parametrize("shared", [0.0, 0.5, 0.9])
def test_five_percent_of_unchanged_sets_alarm_however_the_measures_hang_together(shared):
    from scipy.special import ndtr

    rng = np.random.default_rng(11)
    m, sets = 12, 1500
    correlation = np.full((m, m), shared) + (1 - shared) * np.eye(m)
    z = rng.standard_normal((sets, m)) @ np.linalg.cholesky(correlation + 1e-12 * np.eye(m)).T
    p = 2 * ndtr(-np.abs(z))
    alarms = np.mean([min(adjust(list(row), correlation).p) < 0.05 for row in p])
    assert 0.035 < alarms < 0.065
    assert np.mean([min(holm(list(row))) < 0.05 for row in p]) < 0.065


def test_nothing_tested_is_nothing_adjusted():
    assert adjust([]).p == ()
