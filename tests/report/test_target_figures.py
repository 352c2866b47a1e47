"""Pictures of the tests with targets and scenes: what they hold, and their words."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date

import pytest

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
