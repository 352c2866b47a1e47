"""Calibration, clocks, darkness and alertness of whole sessions, on made numbers and simulated."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import scenarios
from hypothesis import given
from hypothesis import strategies as st

from slowphase.analysis.run import analyze
from slowphase.measures.measure import Measure
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.reading.coherence import (
    dark_points,
    find_calibration,
    find_clock_lag,
    find_drowsiness,
    find_light_leak,
    fit_lag,
    incoherences,
    lead_deg,
    longest_decay_s,
    with_cautions,
)

SETTINGS = MeasureSettings()
OCTAVES = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)


def measure(id_, name, value, half, unit, of=None):
    return Measure(f"{id_}/{name}", name, value, value - half, value + half, unit, of=of)


def sinusoid(frequency, gain, phase, half=0.3, vision="dark"):
    id_ = f"sin-{frequency:g}"
    measures = (measure(id_, "gain", gain, 0.01, "1"), measure(id_, "phase", phase, half, "deg"))
    return trial(id_, "sinusoid", measures, {"frequency_hz": frequency}, vision)


def trial(id_, kind, measures, stimulus=None, vision="dark", quality=None):
    good = quality or Quality(90.0, "sound", quick_phase_speed=1.0)
    return TrialResult(
        id_, kind, vision, stimulus or {}, "done", None, good, measures, parts=(id_,)
    )


def step(post_s, half=1.0):
    measures = (
        measure("step", "decay", 3 * post_s, half, "s", of="per"),
        measure("step", "decay", post_s, half, "s", of="post"),
    )
    return trial("step", "step", measures)


def reflex(decay_s=15.0, gain=0.6, lag_s=0.008, adaptation_s=80.0):
    leads = [float(lead_deg(f, decay_s, adaptation_s)) - 360 * f * lag_s for f in OCTAVES]
    return tuple(
        sinusoid(f, gain * float(np.cos(np.radians(lead))), lead)
        for f, lead in zip(OCTAVES, leads, strict=True)
    )


def test_the_lead_of_the_reflex_is_that_of_its_transfer_function():
    # 15 s and 80 s at 0.01 Hz: 58 deg in all, by hand
    assert float(lead_deg(0.01, 15.0, 80.0)) == pytest.approx(58.0, abs=0.1)


@given(
    lag_s=st.floats(-0.08, 0.08),
    decay_s=st.floats(3.0, 50.0),
    adaptation_s=st.floats(50.0, 150.0),
)
def test_the_lag_comes_back_whatever_the_reflex(lag_s, decay_s, adaptation_s):
    points = dark_points(reflex(decay_s, lag_s=lag_s, adaptation_s=adaptation_s))
    found, error, _ = fit_lag(points, SETTINGS)
    assert abs(found - lag_s) < 0.004
    assert abs(found - lag_s) < 3 * error


@pytest.mark.parametrize("decay_s", [3.0, 8.0, 20.0, 40.0])
@pytest.mark.parametrize("lag_s", [0.0, 0.005, 0.015])
def test_a_plain_latency_is_no_lag_of_a_clock(decay_s, lag_s):
    assert find_clock_lag(reflex(decay_s, lag_s=lag_s), SETTINGS) is None


@pytest.mark.parametrize("lag_s", [-0.03, 0.05])
def test_a_lag_is_given_in_ms_with_its_interval_and_concerns_fast_trials(lag_s):
    found = find_clock_lag(reflex(lag_s=lag_s), SETTINGS)
    assert (found.code, found.unit) == ("clock_lag", "ms")
    assert found.low < 1e3 * lag_s < found.high
    assert found.trials == ("sin-0.16", "sin-0.32", "sin-0.64")


def test_phases_that_no_lag_straightens_are_no_matter_of_the_clock():
    bent = {"sin-0.16": -10.0, "sin-0.64": 5.0}
    trials = tuple(
        sinusoid(f, 0.5, p.phase_deg + bent.get(p.trial, 0.0))
        for f, p in zip(OCTAVES, dark_points(reflex()), strict=True)
    )
    assert find_clock_lag(trials, SETTINGS) is None


def test_a_lag_within_the_interval_of_the_phases_is_not_claimed():
    wide = tuple(
        sinusoid(p.frequency_hz, 0.5, p.phase_deg, half=15.0)
        for p in dark_points(reflex(lag_s=0.04))
    )
    assert find_clock_lag(wide, SETTINGS) is None


def test_one_fast_trial_tells_no_lag():
    assert find_clock_lag(reflex(lag_s=0.06)[:5], SETTINGS) is None


@pytest.mark.parametrize("gain", [0.3, 0.7, 1.0, 1.05])
def test_a_lively_reflex_is_no_calibration_error(gain):
    assert find_calibration(reflex(gain=gain), SETTINGS) is None


def test_a_gain_beyond_any_reflex_at_every_frequency_concerns_all_trials():
    found = find_calibration((*reflex(gain=1.3), step(12.0)), SETTINGS)
    assert found.code == "calibration_implausible"
    assert "step" in found.trials
    assert found.low > found.limit == SETTINGS.dark_gain_max


def test_a_gain_that_is_high_at_some_frequencies_only_is_no_calibration_error():
    mixed = (*reflex(gain=1.3)[:5], *reflex(gain=0.9)[5:])
    assert find_calibration(mixed, SETTINGS) is None


def test_a_high_gain_counts_with_quick_phases_that_are_too_fast_for_their_size():
    quick = Quality(90.0, "sound", quick_phase_speed=1.35)
    lively = reflex(gain=1.0)
    fast = tuple(replace(one, quality=quick) for one in lively)
    assert find_calibration(lively, SETTINGS) is None
    assert find_calibration(fast, SETTINGS).limit == SETTINGS.dark_gain_lively
    assert (
        find_calibration(tuple(replace(t, quality=quick) for t in reflex(gain=0.7)), SETTINGS)
        is None
    )


@pytest.mark.parametrize("decay_s", [4.0, 15.0, 30.0, 45.0])
@pytest.mark.parametrize("adaptation_s", [50.0, 80.0, 200.0])
def test_no_storage_however_long_is_taken_for_light(decay_s, adaptation_s):
    trials = reflex(decay_s, adaptation_s=adaptation_s)
    assert find_light_leak(trials, SETTINGS) is None
    assert find_light_leak((*trials, step(decay_s)), SETTINGS) is None


def test_a_reflex_that_was_less_alert_in_its_steps_is_not_taken_for_light():
    assert find_light_leak((*reflex(20.0), step(8.0)), SETTINGS) is None


def lit(share, decay_s=15.0, gain=0.6):
    """Vision adds share·L·(1 − R) to the reflex R, L = 1/(1 + jf/0.2): the loop in open form."""
    trials = []
    for f in OCTAVES:
        lead = float(lead_deg(f, decay_s, 80.0))
        own = gain * np.cos(np.radians(lead)) * np.exp(1j * np.radians(lead))
        seen = own + share / (1 + 1j * f / 0.2) * (1 - own)
        trials.append(sinusoid(f, abs(seen), float(np.degrees(np.angle(seen)))))
    return tuple(trials)


@pytest.mark.parametrize("share", [0.5, 0.8])
def test_vision_is_found_where_steps_or_nothing_tell_the_storage(share):
    for trials in (lit(share), (*lit(share), step(15.0))):
        found = find_light_leak(trials, SETTINGS)
        assert found.code == "light_leak"
        assert found.high < found.limit
        assert {"sin-0.01", "sin-0.64"} <= set(found.trials)


def test_a_response_too_small_to_have_a_phase_tells_nothing_of_light():
    assert find_light_leak((sinusoid(0.01, 0.1, 0.0),), SETTINGS) is None


def test_light_takes_the_word_from_the_clock():
    codes = [f.code for f in incoherences(lit(0.8), SETTINGS)]
    assert codes == ["light_leak"]


def test_the_longest_decay_is_that_of_stopping_within_what_is_believed():
    assert longest_decay_s((step(40.0),), SETTINGS) == 41.0
    assert longest_decay_s((step(12.0),), SETTINGS) == SETTINGS.leak_decay_min_s
    assert longest_decay_s((step(200.0),), SETTINGS) == SETTINGS.leak_decay_max_s
    assert longest_decay_s((), SETTINGS) == SETTINGS.leak_decay_max_s


def slow(*more):
    return Quality(90.0, "caution", ("slow_quick_phases", *more), quick_phase_speed=0.6)


def test_slow_quick_phases_are_drowsiness_with_a_second_sign_only():
    slowed = tuple(replace(one, quality=slow()) for one in reflex())
    roving = (replace(slowed[0], quality=slow("roving_eyes")), *slowed[1:])
    assert find_drowsiness((*slowed, step(15.0)), SETTINGS) is None
    assert find_drowsiness(roving, SETTINGS).code == "low_alertness"
    assert find_drowsiness((*slowed, step(2.5)), SETTINGS).value == 0.6


def test_roving_without_slow_quick_phases_is_no_drowsiness_of_the_session():
    awake = Quality(90.0, "caution", ("roving_eyes",), quick_phase_speed=1.0)
    assert find_drowsiness(tuple(replace(t, quality=awake) for t in reflex()), SETTINGS) is None


def test_a_finding_adds_its_reason_where_it_bears_and_changes_no_value():
    trials = reflex(lag_s=0.06)
    marked = with_cautions(trials, incoherences(trials, SETTINGS))
    for before, behind in zip(trials, marked, strict=True):
        fast = before.stimulus["frequency_hz"] > 0.1
        assert ("clock_lag" in behind.quality.why) == fast
        for old, new in zip(before.measures, behind.measures, strict=True):
            assert (new.value, new.low, new.high) == (old.value, old.low, old.high)
            assert ("clock_lag" in new.why) == (fast and new.name == "phase")
            assert new.grade == ("caution" if new.why else "sound")


def test_a_repeat_carries_the_caution_of_the_trial_that_it_went_into():
    first, *others = reflex(gain=1.3)[2:]
    again = replace(first, id="again", parts=("again",))
    joined = replace(first, parts=(first.id, "again"))
    trials = (joined, again, *others)
    marked = with_cautions(trials, incoherences(trials, SETTINGS))
    assert all("calibration_implausible" in t.quality.why for t in marked)


@cache
def codes(name, seed=1):
    session, _ = scenarios.scenario(name, seed)
    analysis = analyze(session)
    return {found.code: found for found in analysis.incoherences}, analysis


@pytest.mark.parametrize(
    "name",
    ["healthy-120", "acute-left-loss", "bilateral-severe", "prolonged-storage", "two-stage",
     "saturation", "adaptation-40", "calibration-low", "chair-vibration-strong", "lapses"],
)  # fmt: skip
def test_a_session_that_is_as_it_should_be_is_not_suspected(name):
    assert set(codes(name)[0]) == set()


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("calibration-high", "calibration_implausible"),
        ("late-head-clock", "clock_lag"),
        ("early-head-clock", "clock_lag"),
        ("light-leak", "light_leak"),
        ("light-leak-bilateral", "light_leak"),
        ("drowsy-throughout", "low_alertness"),
        ("roving-eyes", "low_alertness"),
    ],
)
def test_a_session_that_is_not_is_called_what_it_is(name, code):
    assert set(codes(name)[0]) == {code}


@pytest.mark.parametrize(("name", "lag_ms"), [("late-head-clock", -32), ("early-head-clock", 48)])
def test_the_lag_of_a_simulated_clock_lies_in_the_interval_given(name, lag_ms):
    found = codes(name)[0]["clock_lag"]  # 40 ms of the clock, 8 ms of latency
    assert found.low < lag_ms < found.high


def test_what_the_session_found_is_in_the_document_and_the_reading_is_careful():
    _, analysis = codes("roving-eyes")
    document = analysis.to_document()
    assert [entry["code"] for entry in document["incoherences"]] == ["low_alertness"]
    constants = next(s for s in document["statements"] if "time_constant" in s["code"])
    assert constants["verdict"] != "holds" or constants["strength"] != "firm"
