from dataclasses import replace

import numpy as np
import pytest

import slowphase
from slowphase.cli.demo_sessions import demo_session, demo_table
from slowphase.fit.effects import Effect
from slowphase.fit.settings import FitSettings
from slowphase.measures.two_directions import Carried
from slowphase.report.reflex.effect_figure import effect_figure, effect_label
from slowphase.report.reflex.misfit_figure import misfit_figure
from slowphase.report.reflex.section import reflex_section
from slowphase.report.reflex.trials_figure import curves, trials_figure
from slowphase.report.reflex.words import effect_table, explanations_text, telling


@pytest.fixture(scope="module")
def analysis():
    return slowphase.analyze(demo_session(demo_table("one_sided")))


@pytest.fixture(scope="module")
def reflex(analysis):
    return slowphase.explain(analysis)


def test_every_deviation_is_named_in_the_misfits_label(reflex):
    figure = misfit_figure(reflex.agreement, FitSettings())
    for deviation in reflex.agreement.deviations:
        assert deviation.trial in figure


def test_there_is_no_picture_of_agreement_where_there_is_no_test(reflex):
    assert misfit_figure(replace(reflex.agreement, p=None), FitSettings()) is None


def test_every_trial_of_the_fit_is_drawn(analysis, reflex):
    figure = trials_figure(analysis, reflex)
    for view in reflex.views:
        assert f"{view.trial}: " in figure


def test_the_curves_follow_one_another_and_differ_by_the_nystagmus(analysis, reflex):
    """The patient's nystagmus is steady: what is taken out is the same in every part."""
    results = {trial.id: trial for trial in analysis.trials}
    for view in reflex.views:
        found = curves(results[view.trial], view)
        apart = found.recorded - found.predicted
        assert np.nanmedian(np.abs(apart)) < 0.5
        taken = found.recorded - found.without
        assert np.nanmedian(taken) == pytest.approx(np.median(view.nystagmus_deg_s), abs=0.3)


def test_a_sinusoid_is_folded_by_the_chair_and_a_step_is_not(analysis, reflex):
    results = {trial.id: trial for trial in analysis.trials}
    folded = {view.trial: curves(results[view.trial], view).folded for view in reflex.views}
    kinds = {trial: results[trial].kind for trial in folded}
    assert {kinds[trial] for trial, yes in folded.items() if yes} == {"sinusoid"}
    assert "step" in {kinds[trial] for trial, yes in folded.items() if not yes}


def test_a_trial_that_was_not_carried_is_not_drawn(analysis, reflex):
    trial = next(t for t in analysis.trials if isinstance(t.carried, Carried))
    view = reflex.view_of(trial.id)
    assert curves(replace(trial, carried=None), view) is None


def test_effects_are_drawn_for_what_moved_and_only_then(reflex):
    assert effect_figure(reflex) is not None
    still = replace(reflex, moved=tuple(replace(m, where="within") for m in reflex.moved))
    assert effect_figure(still) is None
    for moved in reflex.moved:
        if moved.where in ("below", "above"):
            assert moved.parameter.text in effect_label(reflex)


def test_a_measure_that_a_parameter_unmakes_is_told_in_words():
    effect = Effect("nystagmus", "step-left", "per", "time_constant_raw", None, 7.0)
    assert effect.change is None
    assert telling(effect)
    assert list(effect_table([effect])) == [
        ["step-left per-rotatory", "time to 37 %", "never reached", "7.0 s"]
    ]
    assert not telling(replace(effect, without=None))


def test_explanations_of_trials_that_disagree_begin_with_that(reflex):
    doubted = replace(reflex, why=("trials_disagree",))
    assert explanations_text(doubted).startswith("The trials are not those of one reflex")
    assert not explanations_text(replace(reflex, why=())).startswith("The trials are not")


def test_the_section_holds_a_row_for_every_measure(analysis, reflex):
    section = reflex_section(analysis, reflex)
    assert len(section["rows"]) == len(reflex.measures)
    assert section["predicted"]
    assert reflex_section(analysis, None) is None
