"""Simulated sessions: what the simulator put in must come out again."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import scenarios
from scipy.stats import binom

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_pairs, measure_trial
from slowphase.measures.measure import Measure
from slowphase.measures.settings import MeasureSettings

SCENARIOS = ("healthy-250", "acute-right-loss", "saturation", "two-stage", "lapses", "electrodes")
SEED = 1
RELATIVE = ("gain", "time_constant")


@dataclass(frozen=True)
class Comparison:
    """One measure beside its truth."""

    kind: str
    measure: Measure
    truth: float | None

    @property
    def error(self) -> float:
        """Percent for gains and time constants, the measure's own unit otherwise."""
        difference = abs(self.measure.value - self.truth)
        relative = self.measure.name in RELATIVE
        return 100.0 * difference / abs(self.truth) if relative else difference

    @property
    def covers(self) -> bool:
        return self.measure.low <= self.truth <= self.measure.high


@cache
def compared(name: str) -> tuple[Comparison, ...]:
    """Every measure of a scenario that has a truth, beside it."""
    session, truths = scenarios.scenario(name, SEED)
    results = tuple(measure_trial(t, EyeSettings(), MeasureSettings()) for t in session.trials)
    parts = [(r.kind, truths[r.id].measures, r.measures) for r in results]
    parts += [
        (pair.kind, truths[pair.fixation].measures, pair.measures)
        for pair in measure_pairs(results, MeasureSettings())
        if pair.kind == "suppression"
    ]
    return tuple(
        Comparison(kind, measure, truth[key])
        for kind, truth, measures in parts
        for measure in measures
        if (key := f"{measure.of}/{measure.name}" if measure.of else measure.name) in truth
    )


def errors(kind: str, name: str) -> np.ndarray:
    return np.array(
        [
            one.error
            for scenario in SCENARIOS
            for one in compared(scenario)
            if (one.kind, one.measure.name) == (kind, name)
        ]
    )


@pytest.mark.parametrize(
    ("kind", "name", "median", "ninth"),
    [
        ("sinusoid", "gain", 1.0, 4.0),
        ("step", "gain", 1.0, 4.0),
        ("sinusoid", "phase", 0.3, 1.0),
        ("step", "time_constant", 3.0, 15.0),
        ("suppression", "suppression", 1.0, 4.0),
        ("sinusoid", "bias", 0.3, 1.0),
        ("spontaneous", "velocity", 0.2, 0.6),
    ],
)
def test_median_and_ninth_decile_of_the_errors_stay_within_the_bars(kind, name, median, ninth):
    # Percent, degrees, points and deg/s over six simulated patients.
    found = errors(kind, name)
    assert found.size >= 10
    assert np.median(found) <= median
    assert np.percentile(found, 90) <= ninth


@pytest.mark.parametrize("name", [*SCENARIOS, "no-response"])
def test_nothing_is_missing_that_exists_and_nothing_is_invented_that_does_not(name):
    for one in compared(name):
        if one.measure.name == "decay":
            continue  # the model's own constant; two stages have none, yet the model is fitted
        exists = one.truth is not None
        assert (one.measure.value is not None) is exists, one.measure.id


@pytest.mark.parametrize("name", [*SCENARIOS, "no-response"])
def test_a_missing_measure_always_has_a_reason_and_a_present_one_its_interval(name):
    for one in compared(name):
        if one.measure.value is None:
            assert one.measure.why
            assert one.measure.grade == "unusable"
        else:
            slack = 1e-9 * max(1.0, abs(one.measure.value))  # the last digit of the arithmetic
            assert one.measure.low - slack <= one.measure.value <= one.measure.high + slack


@pytest.mark.parametrize(
    "name",
    [
        "phase",
        "gain",
        "time_constant",
        "suppression",
        "bias",
        "velocity",
        "gaze_slope",
    ],
)
def test_intervals_cover_the_truth_as_often_as_they_say(name):
    covered = [
        one.covers
        for scenario in SCENARIOS
        for one in compared(scenario)
        if one.measure.name == name and one.measure.value is not None
    ]
    # Misses of 95 % intervals are binomial: fails where chance would do so once in a thousand.
    assert binom.cdf(sum(covered), len(covered), 0.95) > 0.001


def test_where_nothing_responds_gains_are_around_zero_and_nothing_else_exists():
    nothing = compared("no-response")
    gains = [one.measure for one in nothing if one.measure.name == "gain"]
    others = [one.measure for one in nothing if one.measure.name in ("phase", "time_constant")]
    assert len(gains) == 9 + 4
    assert len(others) == 9 + 4
    for gain in gains:
        assert gain.low <= 0.0 <= gain.high
        assert gain.value < 0.04
    for measure in others:
        assert measure.value is None
        assert "no_response" in measure.why


def test_where_nothing_responds_there_is_no_suppression():
    found = [one.measure for one in compared("no-response") if one.kind == "suppression"]
    assert found
    assert all(m.value is None and "no_response" in m.why for m in found)


def test_a_spontaneous_nystagmus_does_not_fake_poor_suppression():
    # The bias is 18 deg/s, the suppression of the modulated part is good in truth.
    found = [one for one in compared("acute-right-loss") if one.kind == "suppression"]
    for one in found:
        assert one.measure.value == pytest.approx(one.truth, abs=4.0)


def test_intervals_of_time_constants_cover_a_response_of_two_stages():
    found = [one for one in compared("two-stage") if one.measure.name == "time_constant"]
    assert sum(one.covers for one in found) >= len(found) - 1
