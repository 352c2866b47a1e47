"""A session is one patient: a lapse in one trial tells of the others."""

from datetime import date
from functools import cache

import numpy as np
import pytest
from irrigations import irrigation
from made_traces import answered, by_name, recorded, times, trial, turning

from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.eye.trace import UNUSED_REASONS
from slowphase.measures.kinds import measure_groups, measure_trial, measure_trials
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.scenario import run, scenario_from
from slowphase.recording.session import Patient

EYE, SETTINGS = EyeSettings(), MeasureSettings()
TARGET_GAIN = 0.03
TARGET = "head-fixed target"


def sinusoid(name, *, gain=0.6, vision="dark", lapse=(0.0, 0.0), seed=0):
    """Twelve cycles at 0.16 Hz; 40 % of the response is left during the lapse."""
    time = times(79.0)
    head = turning(0.16, 12, time)
    left = np.where((time > lapse[0]) & (time < lapse[1]), 0.4, 1.0)
    velocity = left * answered(head, (gain, 15.0), (gain, 15.0), 100.0)
    keys = {"frequency_hz": 0.16, "peak_velocity_deg_s": 60.0}
    return trial(
        "sinusoid", recorded(velocity, head, time, seed=seed), name=name, vision=vision, **keys
    )


def at_rest(name):
    time = times(40.0)
    return trial("spontaneous", recorded(np.full(time.size, 3.0), None, time, seed=4), name=name)


ALERT = sinusoid("alert")
NODDING = sinusoid("nodding", lapse=(30.0, 40.0), seed=1)
FIXED = sinusoid("fixed", gain=TARGET_GAIN, vision=TARGET, seed=2)
FIXED_NODDING = sinusoid("nods", gain=TARGET_GAIN, vision=TARGET, lapse=(30.0, 42.0), seed=3)
REST = at_rest("rest")
TRIALS = {one.id: one for one in (REST, ALERT, NODDING, FIXED, FIXED_NODDING)}


@cache
def alone(name):
    return measure_trial(TRIALS[name], EYE, SETTINGS)


@cache
def drowsy_session():
    """The trials of a session in which one lapsed, by id."""
    return {found.id: found for found in measure_trials(tuple(TRIALS.values()), EYE, SETTINGS)}


def gain(result):
    return by_name(result)["gain"]


def width(measure):
    return measure.high - measure.low


def test_without_a_lapse_every_trial_stays_as_it_is_by_itself():
    seen = []
    found = measure_trials((REST, ALERT, FIXED), EYE, SETTINGS, progress=seen.append)
    assert seen == ["rest", "alert", "fixed"]
    for one, result in zip((REST, ALERT, FIXED), found, strict=True):
        assert result.measures == alone(one.id).measures


def test_the_trial_that_lapsed_and_those_without_a_response_stay_as_they_are():
    for one in (NODDING, REST):
        assert drowsy_session()[one.id].measures == alone(one.id).measures


@pytest.mark.parametrize("one", [ALERT, FIXED], ids=["dark", "target"])
def test_a_lapse_elsewhere_widens_an_interval_and_says_so(one):
    single, together = gain(alone(one.id)), gain(drowsy_session()[one.id])
    assert "lapses_elsewhere" not in single.why
    assert "lapses_elsewhere" in together.why
    assert together.grade == single.grade
    assert width(together) > width(single)
    assert together.value == pytest.approx(single.value, rel=0.01)


def test_a_response_that_shows_its_lapses_is_known_better_than_one_that_hides_them():
    dark, target = (gain(drowsy_session()[one.id]) for one in (ALERT, FIXED))
    assert width(target) / target.value > 3 * width(dark) / dark.value


def test_a_hidden_lapse_is_within_the_interval():
    # Mean of a process of variance w² and memory tau over a time T: variance 2 w² tau / T.
    together = gain(drowsy_session()["nods"])
    assert gain(alone("nods")).high < TARGET_GAIN
    assert together.low < TARGET_GAIN < together.high
    sd = SETTINGS.unseen_drowsy * np.sqrt(2 * SETTINGS.waver_s / (12 / 0.16))
    assert width(together) / 2 > 0.8 * 1.96 * sd * together.value


def test_calorics_and_moving_scenes_of_a_drowsy_patient_carry_a_caution():
    """Their responses are not measured anew: no chair tells when they lapsed."""
    caloric = irrigation(-25.0, seed=2, name="caloric")[0]
    found = {one.id: one for one in measure_trials((caloric, NODDING), EYE, SETTINGS)}["caloric"]
    own = measure_trial(caloric, EYE, SETTINGS)
    for before, after in zip(own.measures, found.measures, strict=True):
        assert (after.value, after.low, after.high) == (before.value, before.low, before.high)
    response = by_name(found)["response"]
    assert "lapses_may_weaken" in response.why
    assert response.grade == "caution"
    (group,) = measure_groups((found,), SETTINGS)
    assert group.measures
    alert = measure_trials((caloric, ALERT), EYE, SETTINGS)
    assert all("lapses_may_weaken" not in m.why for one in alert for m in one.measures)


def test_an_alert_patient_whose_eyes_do_not_answer_the_chair_has_no_lapses():
    """Both labyrinths at 5 %; before, both spins of this seed told of lapses that never were."""
    plan = scenario_from({"person": {"right": 0.05, "left": 0.05}, "seed": 2})
    session = session_from(run(plan), Patient("bil"), date(2026, 1, 15))
    own = tuple(one for one in session.trials if one.kind in ("step", "sinusoid"))[-3:]
    found = measure_trials(own, EYE, SETTINGS)
    spins = [one for one in found if one.kind == "step"]
    assert len(spins) == 2
    for one in spins:
        assert all("no_response" in m.why for m in one.measures if m.name == "gain")
        assert not np.any(one.evidence.horizontal.use == UNUSED_REASONS.index("lapse"))
    reasons = {code for one in found for m in one.measures for code in m.why}
    reasons |= {code for one in found for code in one.quality.why}
    assert not {"lapses_left_out", "lapses_elsewhere", "low_alertness"} & reasons
