"""Whatever is recorded in a trial with targets or scenes, it ends in numbers or in reasons."""

import numpy as np
import pytest

from slowphase.eye.settings import EyeSettings
from slowphase.foundation.reasons import reasons
from slowphase.measures.kinds import measure_groups, measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Recording, Trial
from slowphase.report.kind_figures import kind_figure

CLOCKS = ((10, 5.0), (60, 250.0), (400, 20.0), (1500, 250.0))
EYES = {
    "noise": lambda t, rng: rng.normal(0, 1, t.size),
    "walk": lambda t, rng: np.cumsum(rng.normal(0, 0.1, t.size)),
    "still": lambda t, rng: np.zeros(t.size),
    "lost": lambda t, rng: np.full(t.size, np.nan),
    "gaps": lambda t, rng: np.where(rng.random(t.size) < 0.5, np.nan, rng.normal(0, 3, t.size)),
    "swing": lambda t, rng: 10 * np.sin(2 * np.pi * 0.3 * t),
    "huge": lambda t, rng: 1e6 * rng.normal(0, 1, t.size),
    "steps": lambda t, rng: 10 * np.sign(np.sin(np.pi * t / 2)) + rng.normal(0, 0.05, t.size),
    "coarse": lambda t, rng: np.round(rng.normal(0, 2, t.size)),
}
TARGETS = {
    "none": {},
    "lost": {"target_h": lambda t, rng: np.full(t.size, np.nan)},
    "still": {"target_h": lambda t, rng: np.zeros(t.size)},
    "swing": {"target_h": EYES["swing"]},
    "noise": {"target_h": EYES["noise"]},
    "upward": {"target_v": EYES["steps"]},
}
PLACES = {"targets_deg": [0, -10, 10, 0, 10]}
STIMULI = {
    "calibration": (
        {},
        PLACES,
        PLACES | {"hold_s": 2, "start_at_s": 1},
        {"targets_deg": [[0, 0], [5, 5], [-5, -5], [0, 0], [5, 5]], "hold_s": 2, "start_at_s": -1},
        {"targets_deg": [0, 5, -5, 1, 2], "hold_s": 500, "start_at_s": 3000},
    ),
    "saccade": ({}, PLACES, PLACES | {"hold_s": 0.2, "start_at_s": -3000}),
    "pursuit": (
        {},
        {"frequency_hz": 0.3, "amplitude_deg": 10, "start_at_s": 0, "direction": "up"},
        {"frequency_hz": 20, "peak_velocity_deg_s": 30},
        {"frequency_hz": 0.0005, "peak_velocity_deg_s": 30},
    ),
    "optokinetic": (
        {},
        {"velocity_deg_s": 30},
        {"velocity_deg_s": -30, "moving_s": [2, 8]},
        {"velocity_deg_s": 30, "direction": "down", "moving_s": [500, 800]},
        {"velocity_deg_s": 30, "direction": "left", "moving_s": [-5, 1e4]},
    ),
    "spontaneous": ({},),
}


def recording(count, rate_hz, eye, target, unit):
    rng = np.random.default_rng(count)
    time_s = np.arange(count) / rate_hz
    names = ("eye_h_right", "eye_h_left", "eye_v_right")
    channels = {name: EYES[eye](time_s, rng) for name in names}
    channels |= {name: make(time_s, rng) for name, make in TARGETS[target].items()}
    raw = dict.fromkeys(names, unit) if unit else {}
    return Recording(time_s, rate_hz, channels, raw_units=raw)


@pytest.mark.parametrize("kind", STIMULI)
@pytest.mark.parametrize("eye", EYES)
def test_any_recording_ends_in_numbers_with_intervals_or_in_reasons(kind, eye):
    drawn = 0
    for count, rate in CLOCKS:
        for target in TARGETS:
            for number, stimulus in enumerate(STIMULI[kind]):
                unit = "px" if kind == "calibration" and number % 2 else ""
                one = recording(count, rate, eye, target, unit)
                found = measure_trial(
                    Trial("x", kind, "light", stimulus, recording=one),
                    EyeSettings(),
                    MeasureSettings(),
                )
                sound(found)
                measure_groups((found, found), MeasureSettings())
                if number == 0 and drawn < 3:
                    drawn += kind_figure(found) is not None


def sound(found):
    for measure in found.measures:
        assert set(measure.why) <= reasons().keys()
        if measure.value is None:
            assert measure.why
            continue
        assert np.isfinite(measure.value)
        if measure.low is not None:
            assert measure.low <= measure.value + 1e-9
            assert measure.value <= measure.high + 1e-9
