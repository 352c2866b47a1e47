"""Repeats that contradict each other say so; those that agree keep their digits."""

from dataclasses import replace

import numpy as np
import pytest
from irrigations import irrigation
from made_traces import result_of

from slowphase.measures.caloric_irrigations import pooled
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined
from slowphase.measures.repeats import with_repeats
from slowphase.measures.weighted import chance_beyond, weighted
from slowphase.reading.pooling import pool


def known(value, half, name="gain", number=0):
    return Measure(f"t{number}/{name}", name, value, value - half, value + half, "1")


@pytest.mark.parametrize(
    ("chi2", "degrees", "chance"),
    [(3.841, 1, 0.05), (6.635, 1, 0.01), (5.991, 2, 0.05), (7.815, 3, 0.05), (11.070, 5, 0.05),
     (18.307, 10, 0.05), (13.277, 4, 0.01)],
)  # fmt: skip
def test_the_chance_is_that_of_the_printed_tables(chi2, degrees, chance):
    """Critical values of chi-squared as in any table of it (from memory)."""
    assert chance_beyond(chi2, degrees) == pytest.approx(chance, rel=2e-3)


def test_repeats_that_contradict_each_other_are_widened_and_say_so():
    both = combined([known(37.2, 0.8), known(9.3, 0.3, number=1)])
    apart = (37.2 - 9.3) / np.hypot(0.8, 0.3)  # Birge's ratio of two, by hand
    assert both.high - both.value == pytest.approx(
        1.959963984540054 * apart / np.hypot(1 / 0.8, 1 / 0.3)
    )
    assert both.low < 9.3
    assert both.grade == "caution"
    assert "repeats_disagree" in both.why


def test_time_constants_that_contradict_each_other_are_widened_on_the_logarithm():
    constants = [
        Measure(f"t{i}/time_constant", "time_constant", value, value / 1.1, value * 1.1, "s")
        for i, value in enumerate((5.0, 15.0))
    ]
    both = combined(constants)
    assert both.value == pytest.approx(np.sqrt(75.0))
    assert both.high / both.value == pytest.approx(both.value / both.low)
    assert both.low < 5.0
    assert both.high > 15.0
    assert "repeats_disagree" in both.why


def test_repeats_that_agree_keep_their_digits():
    """0.60 ± 0.04 and 0.64 ± 0.04: 0.62 ± 0.04/√2, by hand."""
    both = combined([known(0.60, 0.04), known(0.64, 0.04, number=1)])
    assert (both.value, both.grade, both.why) == (pytest.approx(0.62), "sound", ())
    assert both.high - both.value == pytest.approx(0.04 / np.sqrt(2))


def test_agreeing_repeats_are_seldom_said_to_disagree():
    rng = np.random.default_rng(3)
    draws = rng.normal(1.0, 0.1, (4000, 3))
    share = np.mean([weighted(list(row), [0.1] * 3).disagree for row in draws])
    assert 0.005 < share < 0.016


def test_one_formula_serves_all_poolings():
    pair = [known(10.0, 1.0), known(20.0, 2.0, number=1)]
    both, read = combined(pair), pool(pair)
    value, error = pooled([(m.value, (m.high - m.value) / 1.959963984540054) for m in pair])
    assert (read.value, read.low, read.high) == pytest.approx((both.value, both.low, both.high))
    assert value == pytest.approx(both.value)
    assert 1.959963984540054 * error == pytest.approx(both.high - both.value)


def test_the_same_irrigation_with_an_eye_at_a_quarter_is_not_pooled_in_silence():
    trial, _ = irrigation(-37.0, seed=4, name="first")
    quarter = {name: 0.25 * channel for name, channel in trial.recording.channels.items()}
    recording = replace(trial.recording, channels=quarter)
    again = replace(trial, id="again", recording=recording, repeat_of="first")
    first, second = result_of(trial), result_of(again)
    joined = with_repeats((trial, again), (first, second))[0]
    for name in ("response", "peak"):
        parts = [next(m for m in one.measures if m.name == name) for one in (first, second)]
        found = next(m for m in joined.measures if m.name == name)
        assert "repeats_disagree" in found.why
        assert found.grade == "caution"
        assert found.low < parts[1].value < found.high
        assert found.high - found.low > abs(parts[0].value - parts[1].value)
    assert joined.quality.grade == "caution"
