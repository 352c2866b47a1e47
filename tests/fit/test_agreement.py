import pytest
from scipy.stats import chi2

from slowphase.fit.session import session_reflex
from slowphase.fit.settings import FitSettings
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.weighted import chance_beyond
from slowphase.report.reflex.words import WORST
from tests.fit.sessions import measured, uneven


def reflex(**given):
    results = measured(uneven(), 11, **given)
    return session_reflex(results, FitSettings(), MeasureSettings())


@pytest.mark.parametrize("degrees", [1, 2, 3, 7, 8, 20])
@pytest.mark.parametrize("statistic", [0.01, 1.0, 7.5, 40.0])
def test_the_tail_of_chi_squared_is_that_of_scipy(statistic, degrees):
    expected = chi2.sf(statistic, degrees)
    assert chance_beyond(statistic, degrees) == pytest.approx(expected, rel=1e-10, abs=1e-300)


def test_trials_of_one_reflex_agree():
    found = reflex()
    assert found.agreement.degrees == 7
    assert found.agreement.p > 0.001
    assert "trials_disagree" not in found.why
    assert all(abs(deviation.standardised) < 4.5 for deviation in found.agreement.deviations)


def test_a_phase_error_planted_at_two_frequencies_is_found_and_named():
    found = reflex(planted=True)
    assert found.agreement.p < 0.001
    assert "trials_disagree" in found.why
    worst = sorted(found.agreement.deviations, key=lambda d: -abs(d.standardised))[:WORST]
    assert {deviation.trial for deviation in worst} >= {"sin-0.04", "sin-0.16"}
    assert all(measure.grade != "sound" for measure in found.measures)
