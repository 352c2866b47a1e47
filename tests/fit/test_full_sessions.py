"""The whole-session fit on sessions simulated down to the sample, through the whole analysis."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.fit.session import ideal_time_constant_s
from slowphase.physiology.scenario import run, scenario_from
from slowphase.recording.session import Patient

DARK_HZ = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)


def analysis_of(table, change=lambda trial: trial):
    session = session_from(run(scenario_from(table)), Patient(code="X"), date(2026, 1, 15))
    trials = tuple(change(trial) for trial in session.trials)
    return slowphase.analyze(replace(session, trials=trials))


def reflex_of(analysis):
    reflex = slowphase.explain(analysis)
    return reflex, {measure.name: measure for measure in reflex.measures}


@pytest.mark.parametrize(("bias", "least"), [(20.0, 1.5), (30.0, 2.0)])
def test_an_acute_nystagmus_spoils_the_plain_time_constant_and_not_that_of_the_session(bias, least):
    """Gain 0.65 on the healthy side; the plain time constant is more than half (20 deg/s) or more
    than twice (30 deg/s) too long: computed in REFERENCES, section 2."""
    sides = {"right": {"gain": 0.3}, "left": {"gain": 0.65}}
    person = {"reflex": sides, "spontaneous": {"bias_deg_s": bias}}
    analysis = analysis_of({"seed": 5, "person": person})
    measures = {measure.id: measure for measure in analysis.measures()}
    plain = measures["step-left/per/time_constant_raw"]
    healthy = scenario_from({"person": person}).person.reflex.left.dynamics
    true = ideal_time_constant_s(healthy.decay_s, healthy.adaptation_s)
    assert plain.value is None or plain.value > least * true
    _, found = reflex_of(analysis)
    assert found["time_constant_left"].value == pytest.approx(true, rel=0.1)
    assert found["gain_left"].value == pytest.approx(0.65, abs=0.02)
    assert found["nystagmus"].value == pytest.approx(bias, rel=0.05)


def test_a_nystagmus_that_changes_direction_takes_no_part_and_spoils_nothing():
    """In the middle of the spontaneous trial the trace turns round: its mean says nothing."""

    def turned(trial):
        if trial.id != "spontaneous-dark":
            return trial
        recording = trial.recording
        half = recording.time_s.size // 2
        channels = {role: mirrored_after(half, trace) for role, trace in recording.channels.items()}
        return replace(trial, recording=replace(recording, channels=channels))

    table = {"seed": 6, "person": {"spontaneous": {"bias_deg_s": 8.0}}}
    analysis = analysis_of(table, turned)
    velocity = {m.id: m for m in analysis.measures()}["spontaneous-dark/horizontal/velocity"]
    assert "direction_changes" in velocity.why
    reflex, found = reflex_of(analysis)
    assert reflex.view_of("spontaneous-dark") is None
    assert found["nystagmus"].low < 8.0 < found["nystagmus"].high


def mirrored_after(half, trace):
    turned = trace.copy()
    turned[half:] = 2.0 * trace[half] - trace[half:]
    return turned


def test_light_in_the_booth_puts_every_explanation_in_doubt():
    leaks = [{"id": f"sin-{f:g}", "light_leak": 0.4} for f in DARK_HZ]
    leaks += [{"id": f"step-{side}", "light_leak": 0.4} for side in ("right", "left")]
    reflex, found = reflex_of(analysis_of({"seed": 7, "trial": leaks}))
    assert "light_leak" in reflex.why
    for measure in found.values():
        assert measure.value is None or "light_leak" in measure.why


def test_a_calibration_that_is_off_is_a_caution_on_gains_and_not_on_times():
    reflex, found = reflex_of(analysis_of({"seed": 8, "equipment": {"calibration": 1.6}}))
    assert "calibration_implausible" in reflex.why
    assert "calibration_implausible" in found["gain_right"].why
    assert "calibration_implausible" in found["nystagmus"].why
    assert "calibration_implausible" not in found["time_constant_right"].why
    assert np.isfinite(found["time_constant_right"].value)
