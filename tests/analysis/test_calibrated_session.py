"""Sessions in pixels, volts or microvolts: their calibration trials make degrees of them."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from slowphase.analysis.calibrate import calibrated
from slowphase.analysis.run import analyze
from slowphase.analysis.settings import Settings
from slowphase.cli.simulated_session import session_from
from slowphase.foundation.errors import InputError
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid, targets
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.read import read_session
from slowphase.recording.session import Patient
from slowphase.recording.write import write_session

PLACES = (0.0, -10.0, 10.0, -20.0, 20.0, 15.0, -15.0, 5.0, -5.0, 0.0)
GAIN = {"right": 38.0, "left": -31.0}  # units per deg; the left channel counts the other way
CALIBRATION = replace(targets("calibration"), targets_deg=PLACES * 2)
PLANS = (CALIBRATION, sinusoid(0.16), replace(CALIBRATION, id="recheck"))


def in_degrees(plans=PLANS, seed=5, **equipment):
    trials = simulate(Person(), plans, Equipment(vertical=False, **equipment), seed=seed)
    return session_from(trials, Patient("T-1", 40.0), date(2026, 3, 2))


def as_raw(session, unit="px", *, shifted=0.0):
    """The session as a recorder without a calibration stores it; the recheck shifted in deg."""
    return replace(session, trials=tuple(_raw(trial, unit, shifted) for trial in session.trials))


def _raw(trial, unit, shifted):
    channels = dict(trial.recording.channels)
    for side, gain in GAIN.items():
        moved = shifted if trial.id == "recheck" else 0.0
        channels[f"eye_h_{side}"] = gain * (channels[f"eye_h_{side}"] + moved) + 500.0
    raw = {role: unit for role in channels if role.startswith("eye")}
    recording = replace(trial.recording, channels=channels, raw_units=raw)
    return replace(trial, recording=recording)


def measures(analysis):
    return {measure.id: measure for measure in analysis.measures()}


@pytest.mark.parametrize("unit", ["px", "uV"])
def test_a_folder_in_raw_units_gives_the_gains_of_the_same_session_in_degrees(tmp_path, unit):
    session = in_degrees()
    write_session(as_raw(session, unit), tmp_path)
    assert f'unit = "{unit}"' in (tmp_path / "session.toml").read_text()
    read = read_session(tmp_path)
    assert read.problems == ()
    found, expected = measures(analyze(read)), measures(analyze(session))
    gain, true = found["sin-0.16/gain"], expected["sin-0.16/gain"]
    assert gain.value == pytest.approx(true.value, rel=0.02)
    assert "calibrated_here" in gain.why
    assert found["sin-0.16/phase"].value == pytest.approx(expected["sin-0.16/phase"].value, abs=0.3)
    per_deg = found["calibration/right/horizontal/gain"]
    assert per_deg.value == pytest.approx(38.0, rel=0.02)
    assert per_deg.unit == {"px": "{pixel}/deg", "uV": "uV/deg"}[unit]
    assert found["calibration/left/horizontal/gain"].value == pytest.approx(-31.0, rel=0.02)


def test_without_a_calibration_trial_raw_units_stay_refused(tmp_path):
    session = in_degrees(PLANS[1:2])
    write_session(as_raw(session), tmp_path)
    with pytest.raises(InputError) as caught:
        read_session(tmp_path)
    assert {problem.code for problem in caught.value.problems} >= {"not_in_degrees"}
    problem = next(p for p in caught.value.problems if p.code == "not_in_degrees")
    assert "or a calibration trial in the same unit" in problem.message
    assert problem.line is not None


def test_a_calibration_trial_in_another_unit_does_not_help(tmp_path):
    write_session(as_raw(in_degrees()), tmp_path)
    file = tmp_path / "session.toml"
    columns = '[trial.columns]\neye_h_right = { name = "Rx", unit = "mV" }\n'
    text = file.read_text()
    at = text.index('id = "sin-0.16"')
    end = text.index("[[trial]]", at)
    file.write_text(text[:end] + columns + "\n" + text[end:])
    problems = read_session(file).problems
    assert [(p.code, p.trial, p.key) for p in problems] == [
        ("not_in_degrees", "sin-0.16", "eye_h_right")
    ]


def test_a_refused_calibration_leaves_the_trials_unmeasured_and_says_why():
    session = as_raw(in_degrees(PLANS[:2]))
    first = session.trials[0]
    still = {
        role: np.random.default_rng(1).normal(500.0, 3.0, first.recording.time_s.size)
        if role.startswith("eye")
        else trace
        for role, trace in first.recording.channels.items()
    }
    blind = replace(first, recording=replace(first.recording, channels=still))
    analysis = analyze(replace(session, trials=(blind, *session.trials[1:])))
    codes = {(p.code, p.key, p.found) for p in analysis.problems}
    assert codes == {("not_calibrated", f"eye_h_{s}", "did_not_look") for s in ("right", "left")}
    assert all('"calibration": The eye did not go' in p.message for p in analysis.problems)
    assert measures(analysis)["sin-0.16/gain"].value is None
    assert measures(analysis)["calibration/right/horizontal/gain"].why == ("did_not_look",)


def test_one_eye_lost_in_the_calibration_leaves_the_other():
    session = as_raw(in_degrees(PLANS[:2]))
    first = session.trials[0]
    channels = dict(first.recording.channels)
    channels["eye_h_left"] = np.full(first.recording.time_s.size, np.nan)
    lost = replace(first, recording=replace(first.recording, channels=channels))
    turned = calibrated(replace(session, trials=(lost, session.trials[1])), Settings())
    assert {r for r in turned.trials[1].recording.channels if r.startswith("eye")} == {
        "eye_h_right"
    }
    assert [(p.code, p.key, p.found) for p in turned.problems] == [
        ("not_calibrated", "eye_h_left", "eye_not_seen")
    ]


def test_each_trial_takes_the_last_calibration_before_it():
    session = as_raw(in_degrees())
    calibration, sinus, recheck = session.trials
    wider = {
        role: 2.0 * trace if role.startswith("eye") else trace
        for role, trace in recheck.recording.channels.items()
    }
    recheck = replace(recheck, recording=replace(recheck.recording, channels=wider))
    between = calibrated(replace(session, trials=(calibration, sinus, recheck)), Settings())
    after = calibrated(replace(session, trials=(calibration, recheck, sinus)), Settings())
    first = calibrated(replace(session, trials=(sinus, calibration, recheck)), Settings())
    spread = [
        float(np.nanstd(t.recording.channels["eye_h_right"]))
        for s in (between, after, first)
        for t in s.trials
        if t.id == "sin-0.16"
    ]
    assert spread[1] == pytest.approx(spread[0] / 2, rel=0.03)
    assert spread[2] == spread[0]


def test_a_session_in_degrees_is_measured_and_corrected_in_nothing():
    session = in_degrees(calibration=1.3)
    assert calibrated(session, Settings()) is session
    found = measures(analyze(session))
    gain = found["calibration/right/horizontal/gain"]
    assert gain.value == pytest.approx(1.3 * 1.005, rel=0.015)
    assert gain.low < 1.3 * 1.005 < gain.high
    assert "calibration_off" in gain.why
    assert found["sin-0.16/gain"].value > 1.15 * 0.6
    assert "calibration_off" in found["sin-0.16/gain"].why
    assert "calibration_off" not in found["sin-0.16/phase"].why
    good = measures(analyze(in_degrees()))
    assert "calibration_off" not in good["sin-0.16/gain"].why


def test_a_recheck_tells_a_drift_from_none():
    quiet = measures(analyze(as_raw(in_degrees())))
    moved = measures(analyze(as_raw(in_degrees(), shifted=3.0)))
    name = "calibration~recheck/right/horizontal/"
    drift, none = moved[name + "drift"], quiet[name + "drift"]
    assert drift.value == pytest.approx(3.0, abs=0.5)
    assert drift.low < 3.0 < drift.high
    assert "calibration_drifted" in drift.why
    assert none.low < 0.0 < none.high
    assert none.grade == "sound"
    assert abs(quiet[name + "gain_change"].value) < 2.5
