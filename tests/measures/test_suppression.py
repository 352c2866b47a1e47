from dataclasses import replace

import numpy as np
import pytest

from slowphase.measures.interval import Estimate, Maker
from slowphase.measures.kinds import measure_pairs
from slowphase.measures.measure import Measure
from slowphase.measures.repeats import with_repeats
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.suppression import combined, pair_suppression, ratio_estimate
from slowphase.recording.trial import Trial

SETTINGS = MeasureSettings()


def measure(name="gain", value=0.6, reach=0.03, unit="1", why=(), trial="t"):
    return Maker(trial, why)(name, Estimate(value, value - reach, value + reach), unit)


def sinusoid(name, gain, *, vision="dark", frequency_hz=0.32, peak=60.0, reach=0.02, why=()):
    measures = (
        measure("gain", gain, reach, why=why, trial=name),
        measure("peak_speed", 60.0 * gain + 5.0, 60.0 * reach, "deg/s", trial=name),
    )
    return TrialResult(
        id=name,
        kind="sinusoid",
        vision=vision,
        stimulus={"frequency_hz": frequency_hz, "peak_velocity_deg_s": peak},
        outcome="done",
        reason=None,
        quality=Quality(90.0, "sound"),
        measures=measures,
        parts=(name,),
    )


def target(gain=0.06, **more):
    return sinusoid("fix", gain, vision="head-fixed target", **more)


def test_suppression_is_what_is_missing_of_the_dark_gain():
    (pair,) = pair_suppression((sinusoid("dark", 0.6), target()), SETTINGS)
    assert (pair.kind, pair.dark, pair.fixation) == ("suppression", "dark", "fix")
    assert pair.measures[0].value == pytest.approx(90.0)
    whole = next(m for m in pair.measures if m.name == "suppression_whole")
    assert whole.value == pytest.approx(100.0 * (1 - (3.6 + 5.0) / (36.0 + 5.0)))


def test_suppression_below_zero_is_possible():
    (pair,) = pair_suppression((sinusoid("dark", 0.6), target(0.75)), SETTINGS)
    assert pair.measures[0].value == pytest.approx(-25.0)
    assert pair.measures[0].low < -25.0 < pair.measures[0].high


@pytest.mark.parametrize(
    ("change", "matches"),
    [
        ({"peak": 62.5}, True),
        ({"peak": 57.5}, True),
        ({"peak": 64.0}, False),
        ({"frequency_hz": 0.323}, True),
        ({"frequency_hz": 0.16}, False),
        ({"vision": "light"}, False),
    ],
)
def test_a_pair_has_one_frequency_and_peaks_within_five_percent(change, matches):
    dark = sinusoid("dark", 0.6, **change)
    assert bool(pair_suppression((dark, target()), SETTINGS)) is matches


def test_every_trial_with_a_target_finds_its_own_dark_partner():
    trials = (
        sinusoid("dark-slow", 0.5, frequency_hz=0.04),
        sinusoid("dark-fast", 0.8),
        target(0.08),
        replace(target(0.05, frequency_hz=0.04), id="fix-slow"),
    )
    pairs = {p.fixation: (p.dark, p.measures[0].value) for p in pair_suppression(trials, SETTINGS)}
    assert pairs["fix"] == ("dark-fast", pytest.approx(90.0))
    assert pairs["fix-slow"] == ("dark-slow", pytest.approx(90.0))


def test_a_low_dark_gain_is_said_to_be_too_low():
    (pair,) = pair_suppression((sinusoid("dark", 0.15), target(0.05)), SETTINGS)
    assert "dark_gain_low" in pair.measures[0].why
    assert pair.measures[0].grade != "sound"


def test_where_nothing_answers_in_the_dark_there_is_no_suppression():
    dark = sinusoid("dark", 0.005, why=("no_response",))
    (pair,) = pair_suppression((dark, target(0.004)), SETTINGS)
    assert all(m.value is None and "no_response" in m.why for m in pair.measures)


def test_a_target_trial_that_answers_nothing_is_perfect_suppression_not_a_missing_one():
    fixed = target(0.002, reach=0.01, why=("no_response",))
    (pair,) = pair_suppression((sinusoid("dark", 0.6), fixed), SETTINGS)
    assert pair.measures[0].value == pytest.approx(100 * (1 - 0.002 / 0.6))


def test_what_makes_a_gain_doubtful_makes_the_suppression_doubtful():
    dark = sinusoid("dark", 0.6, why=("low_alertness",))
    (pair,) = pair_suppression((dark, target()), SETTINGS)
    assert "low_alertness" in pair.measures[0].why


def test_fieller_s_interval_is_that_of_the_formula():
    # Fieller 1954, J R Stat Soc B 16:175-185: the roots r of (a - r b)^2 = z^2 (va + r^2 vb).
    dark, fixed = measure(value=0.4, reach=0.08), measure(value=0.1, reach=0.03)
    found = ratio_estimate(dark, fixed)
    a, b, va, vb = 0.1, 0.4, (0.03 / 1.96) ** 2, (0.08 / 1.96) ** 2
    z2 = 1.96**2
    low, high = np.sort(np.roots([b**2 - z2 * vb, -2 * a * b, a**2 - z2 * va]))
    assert found.value == pytest.approx(75.0)
    assert found.low == pytest.approx(100 * (1 - high), rel=1e-6)
    assert found.high == pytest.approx(100 * (1 - low), rel=1e-6)


def test_fieller_s_interval_covers_ratios_of_noisy_gains():
    rng = np.random.default_rng(3)
    covered = []
    for _ in range(2000):
        dark = measure(value=rng.normal(0.4, 0.05), reach=1.96 * 0.05)
        fixed = measure(value=rng.normal(0.1, 0.03), reach=1.96 * 0.03)
        found = ratio_estimate(dark, fixed)
        covered.append(found.low is None or found.low <= 75.0 <= found.high)
    assert 0.93 < np.mean(covered) < 0.985


def test_a_dark_gain_that_may_be_zero_gives_a_ratio_without_limits():
    found = ratio_estimate(measure(value=0.1, reach=0.15), measure(value=0.02, reach=0.01))
    assert found.value == pytest.approx(80.0)
    assert (found.low, found.high) == (None, None)


def test_repeats_are_combined_by_inverse_variance():
    joined = combined([measure(value=0.5, reach=0.02), measure(value=0.52, reach=0.04)])
    assert joined.value == pytest.approx((4 * 0.5 + 1 * 0.52) / 5)
    assert joined.high - joined.value == pytest.approx(0.02 / np.sqrt(1.25), rel=1e-6)


def test_a_missing_repeat_does_not_count():
    missing = Maker("t", ("no_response",))("gain", Estimate(None), "1")
    assert combined([missing, measure(value=0.5)]).value == 0.5
    assert combined([missing]).value is None


def test_repeats_of_the_dark_trial_are_combined_for_suppression():
    trials = (sinusoid("dark", 0.5), sinusoid("again", 0.7), target(0.06))
    (pair,) = pair_suppression(trials, SETTINGS)
    assert pair.dark == "dark"
    assert pair.measures[0].value == pytest.approx(90.0)


def asked(name, repeat_of=None):
    return Trial(id=name, kind="sinusoid", repeat_of=repeat_of)


def test_the_first_of_a_set_of_repeats_holds_their_combination_and_the_others_stay():
    results = (sinusoid("one", 0.5), sinusoid("other", 0.9), sinusoid("two", 0.6))
    trials = (asked("one"), asked("other"), asked("two", "one"))
    joined = with_repeats(trials, results)
    gain = joined[0].measures[0]
    assert gain.value == pytest.approx(0.55)
    assert gain.id == "one/gain"
    assert "combined_repeats" in joined[0].quality.why
    assert joined[0].parts == ("one", "two")
    assert joined[1:] == results[1:]


def test_a_repeat_without_measures_changes_nothing():
    results = (sinusoid("one", 0.5), replace(sinusoid("two", 0.6), measures=()))
    assert with_repeats((asked("one"), asked("two", "one")), results) == results


def test_repeated_dark_trials_count_once_each_in_suppression():
    # The first trial already holds the combination; taking the repeat again would count it twice.
    results = (sinusoid("one", 0.4, reach=0.02), sinusoid("two", 0.6, reach=0.02), target(0.05))
    joined = with_repeats((asked("one"), asked("two", "one"), asked("fix")), results)
    (pair,) = [p for p in measure_pairs(joined, SETTINGS) if p.kind == "suppression"]
    assert pair.measures[0].value == pytest.approx(100 * (1 - 0.05 / 0.5))


def test_every_measure_is_a_measure():
    (pair,) = pair_suppression((sinusoid("dark", 0.6), target()), SETTINGS)
    assert all(isinstance(m, Measure) and m.unit == "%" for m in pair.measures)
