"""Pictures of the tests with targets and scenes: what they hold, and their words."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from made_targets import calibration_trial, following, recorded

from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import optokinetic, pursuit, targets
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.report.kind_figures import captions, kind_caption, kind_figure

PLANS = (targets("calibration"), targets("saccade"), pursuit(0.4), optokinetic("left"))
KINDS = tuple(plan.kind for plan in PLANS)


@pytest.fixture(scope="module")
def results():
    made = simulate(Person(), PLANS, Equipment(), seed=2)
    session = session_from(made, Patient("T"), date(2026, 3, 2))
    settings = EyeSettings(), MeasureSettings()
    return {trial.kind: measure_trial(trial, *settings) for trial in session.trials}


@pytest.mark.parametrize("kind", KINDS)
def test_each_picture_says_in_words_what_it_shows_and_is_the_same_in_every_run(results, kind):
    svg = kind_figure(results[kind])
    assert results[kind].id in ET.fromstring(svg).attrib["aria-label"]
    assert svg == kind_figure(results[kind])
    assert len(svg) < 400_000


@pytest.mark.parametrize("kind", KINDS)
def test_each_picture_has_words_of_its_own_below_it(results, kind):
    assert kind_caption(results[kind]) == captions()[kind]
    bare = replace(results[kind], evidence=replace(results[kind].evidence, own=None))
    assert kind_caption(bare) == captions()["traces"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_trial_without_samples_has_no_picture(results, kind):
    assert kind_figure(replace(results[kind], evidence=None)) is None


def test_an_eye_that_shows_nothing_of_the_targets_has_no_residuals_and_no_crash():
    rng = np.random.default_rng(3)
    time_s, target, eye, _ = following([0, -10, 10, -20, 20, 0] * 2, 2.0, rng=rng)
    still = np.zeros(time_s.size)
    still[::50] = 1e-12  # not at one value, and yet without any slope
    both = recorded(time_s, {"eye_h_right": still, "eye_h_left": eye, "target_h": target})
    found = measure_trial(calibration_trial(both), EyeSettings(), MeasureSettings())
    svg = kind_figure(found)
    assert svg.count(">R<") == 0
    view = found.evidence.own
    fits = {
        side: replace(fit, parameters=fit.parameters * [1.0, 0.0, 1.0])
        for side, fit in view.calibration.planes.items()
        if side == "eye_h_right"
    }
    assert fits["eye_h_right"].refused == "did_not_look"
    planes = {**view.calibration.planes, **fits}
    nought = replace(view, calibration=replace(view.calibration, planes=planes))
    assert kind_figure(replace(found, evidence=replace(found.evidence, own=nought)))
