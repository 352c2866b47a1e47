import pytest

from slowphase.fit.explanations import HYPOTHESES, explanation_texts
from slowphase.fit.healthy import healthy_model, whereabouts
from slowphase.fit.session import session_reflex
from slowphase.fit.settings import FitSettings
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.labyrinths import Labyrinths
from slowphase.reference.sets import marks
from tests.fit.sessions import measured, person_of


def explained(seed, **labyrinths):
    results = measured(person_of(Labyrinths(**labyrinths)), seed)
    return session_reflex(results, FitSettings(), MeasureSettings())


def as_well(reflex):
    return {found.code for found in reflex.explanations if found.as_well}


def test_the_healthy_need_no_other_explanation():
    assert as_well(explained(21)) == {"healthy"}


@pytest.mark.parametrize("side", ["right", "left"])
def test_an_acute_loss_is_explained_by_the_side_that_was_lost(side):
    reflex = explained(22, **{side: 0.1})
    assert f"{side}_loss" in as_well(reflex)
    assert not as_well(reflex) & {"healthy", "storage", "calibration", "low_alertness"}
    best = next(found for found in reflex.explanations if found.code == f"{side}_loss")
    _, value, low, high = best.values[0]
    assert low <= 0.1 <= high
    assert value < 0.5


def test_a_loss_of_both_sides_is_not_taken_for_one_of_either():
    assert "both_loss" in as_well(explained(23, right=0.3, left=0.3))


def test_a_short_store_is_one_of_the_explanations_and_not_the_only_one_by_name():
    found = as_well(explained(24, storage=0.45))
    assert "storage" in found
    assert "healthy" not in found


def test_every_explanation_has_its_words_and_every_simpler_one_exists():
    codes = {hypothesis.code for hypothesis in HYPOTHESES}
    assert set(explanation_texts()) == codes
    assert all(set(hypothesis.within) <= codes for hypothesis in HYPOTHESES)


def test_every_healthy_value_lies_in_its_range_and_says_where_it_comes_from():
    for parameter in healthy_model().values():
        assert parameter.low <= parameter.value <= parameter.high
        assert parameter.mark in marks()
        assert parameter.source


@pytest.mark.parametrize(
    ("low", "high", "where"),
    [
        (0.55, 0.6, "within"),
        (0.1, 0.15, "below"),
        (0.9, 0.95, "above"),
        (0.15, 0.3, "unsure"),
        (None, None, "not_told"),
    ],
)
def test_a_parameter_has_moved_only_when_its_whole_interval_has(low, high, where):
    assert whereabouts(low, high, healthy_model()["gain_right"]) == where


def test_the_nystagmus_alone_makes_the_asymmetry_that_it_is_said_to_make():
    """Bias b and gain G at peak V give -100 b / (G V) % (computed, REFERENCES section 1)."""
    results = measured(person_of(Labyrinths(right=0.1, compensated=0.6)), 25)
    reflex = session_reflex(results, FitSettings(), MeasureSettings())
    own = next(
        e
        for e in reflex.effects
        if (e.parameter, e.trial, e.name) == ("nystagmus", "sin-0.16", "asymmetry")
    )
    values = {m.name: m.value for m in reflex.measures}
    gain = next(e for e in reflex.effects if (e.trial, e.name) == ("sin-0.16", "gain")).value
    expected = -100.0 * values["nystagmus"] / (gain * 60.0)
    assert own.change == pytest.approx(expected, rel=0.1)
