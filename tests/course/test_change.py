"""Change and reliable change: properties, a worked example by hand, recovery of the variances."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_course import entry, measure

from slowphase.course.change import (
    change,
    interval,
    no_change_error,
    quantile,
    smallest_found,
    two_sided,
)
from slowphase.course.key import Key

GAIN = Key("trial", "sinusoid", "gain", "1", vision="dark")
LEAD = Key("trial", "sinusoid", "phase", "deg", vision="dark")
VALUES = st.floats(-50.0, 50.0).map(lambda v: round(v, 3))
HALVES = st.floats(0.01, 5.0).map(lambda v: round(v, 3))


def retest(sd=0.1, **more):
    return entry("gain", "sinusoid", "1", sd, **more)


def pair(before, after, half=0.0):
    return measure("gain", before, half), measure("gain", after, half)


@given(VALUES, VALUES, HALVES, HALVES)
def test_swapping_the_sessions_turns_the_sign_and_nothing_else(first, second, half, other):
    one, two = measure("gain", first, half), measure("gain", second, other)
    known = retest(2.0, effect=0.5, n=20, measurement_error=0.3)
    there = change(GAIN, one, two, known)
    back = change(GAIN, two, one, known, later=False)
    assert back.value == pytest.approx(-there.value)
    assert (back.low, back.high) == (pytest.approx(-there.high), pytest.approx(-there.low))
    assert back.index == pytest.approx(-there.index)
    assert (back.p, back.limit) == (pytest.approx(there.p), pytest.approx(there.limit))
    turned = {"rises": "falls", "falls": "rises"}
    assert back.direction == turned.get(there.direction, there.direction)


@given(VALUES, HALVES)
def test_the_same_measurement_twice_is_no_change(value, half):
    one = measure("gain", value, half)
    same = change(GAIN, one, one, retest())
    assert same.value == 0.0
    assert same.direction == "within"
    assert same.low < 0.0 < same.high
    assert same.p == pytest.approx(1.0)


@given(VALUES, VALUES)
def test_mirroring_both_values_mirrors_the_change(first, second):
    seen = change(GAIN, *pair(first, second, 0.1), retest(1.0))
    mirrored = change(GAIN, *pair(-first, -second, 0.1), retest(1.0))
    assert mirrored.value == pytest.approx(-seen.value)
    assert mirrored.p == pytest.approx(seen.p)


def test_the_index_of_jacobson_and_truax_by_hand():
    """SD 7.5 and reliability 0.80 (the formula of Jacobson and Truax 1991 J Consult Clin Psychol
    59:12-19; numbers made up and worked by hand): SEM = 7.5·√0.2 = 3.354, standard error of the
    difference √2·3.354 = 4.743, index of 47.5 → 32.5 is −3.16, MDC95 = 1.96·4.743 = 9.30.
    """
    sem = 7.5 * math.sqrt(1.0 - 0.80)
    seen = change(GAIN, *pair(47.5, 32.5), retest(math.sqrt(2.0) * sem))
    assert seen.retest.sem == pytest.approx(3.354, abs=5e-4)
    assert seen.error == pytest.approx(4.743, abs=5e-4)
    assert seen.index == pytest.approx(-3.16, abs=5e-3)
    assert seen.retest.mdc95 == pytest.approx(9.30, abs=5e-3)
    assert seen.limit == pytest.approx(seen.retest.mdc95)
    assert seen.direction == "falls"


def test_a_change_of_exactly_the_limit_is_within_retest_variability():
    known = retest(1.0)
    limit = change(GAIN, *pair(0.0, 1.0), known).limit
    assert change(GAIN, *pair(0.0, limit), known).direction == "within"
    assert change(GAIN, *pair(0.0, limit * (1 + 1e-9)), known).direction == "rises"


def test_the_practice_effect_is_taken_out_in_the_order_of_time():
    known = retest(0.1, effect=0.3)
    assert change(GAIN, *pair(0.0, 0.3), known).index == pytest.approx(0.0)
    assert change(GAIN, *pair(0.3, 0.0), known, later=False).index == pytest.approx(0.0)
    assert change(GAIN, *pair(0.0, 0.0), known).direction == "falls"


def test_phases_change_by_the_shorter_way():
    one, two = measure("phase", 175.0, 1.0, "deg"), measure("phase", -175.0, 1.0, "deg")
    assert change(LEAD, one, two).value == pytest.approx(10.0)
    assert change(GAIN, one, two).value == pytest.approx(-350.0)


def test_quantiles_and_chances_agree_with_scipy():
    stats = pytest.importorskip("scipy.stats")
    for degrees in (3.0, 19.5, 200.0):
        assert quantile(0.05, degrees) == pytest.approx(stats.t.ppf(0.975, degrees))
        assert two_sided(-2.1, degrees) == pytest.approx(2 * stats.t.sf(2.1, degrees))
    assert quantile(0.01, math.inf) == pytest.approx(stats.norm.ppf(0.995))
    assert two_sided(1.3, math.inf) == pytest.approx(2 * stats.norm.sf(1.3))


def test_the_interval_of_a_change_covers():
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(4000):
        ends = []
        for true, error in ((0.4, 0.02), (0.7, 0.05)):
            value = true + error * rng.standard_normal()
            ends.append(measure("gain", value, 1.96 * error))
        low, high = interval(ends[1].value - ends[0].value, *ends)
        held += low <= 0.3 <= high
    assert 0.94 < held / 4000 < 0.96


def test_each_error_of_measurement_is_counted_once():
    """Day-to-day SD 0.3, errors 0.2: the SD of paired differences already holds both."""
    rng = np.random.default_rng(8)
    days, error = 0.3, 0.2
    seen = rng.normal(0, math.hypot(days, error), (200_000, 2))
    spread = float(np.std(seen[:, 1] - seen[:, 0], ddof=1))
    known = retest(spread, measurement_error=error)
    for own in (0.05, 0.2, 0.6):
        truly = math.sqrt(2 * days**2 + 2 * own**2)
        assert no_change_error(known, (own, own))[0] == pytest.approx(truly, rel=0.01)
    twice = math.sqrt(spread**2 + 2 * error**2)
    assert no_change_error(known, (error, error))[0] < 0.95 * twice


def test_without_the_errors_of_the_retests_the_larger_of_both_counts_and_never_the_sum():
    known = retest(0.5)
    assert no_change_error(known, (0.1, 0.1))[0] == pytest.approx(0.5)
    assert no_change_error(known, (0.6, 0.8))[0] == pytest.approx(1.0)
    assert no_change_error(known, (None, 0.8))[0] == pytest.approx(0.5)


def test_the_error_never_falls_below_the_two_measurements_nor_to_nothing():
    known = retest(0.5, measurement_error=5.0, n=20)
    assert no_change_error(known, (0.4, 0.4))[0] >= math.hypot(0.4, 0.4)
    assert no_change_error(known, (0.0, 0.0))[0] >= 0.25


def test_few_retests_ask_for_more_than_many():
    few, many = (change(GAIN, *pair(0.0, 0.2), retest(0.1, n=n)).limit for n in (10, 1000))
    assert few > 1.15 * many
    assert many == pytest.approx(0.196, rel=0.01)


def test_eighty_percent_of_true_changes_of_the_smallest_size_are_found():
    rng = np.random.default_rng(3)
    size = smallest_found(0.1, math.inf, 0.05)
    found = [two_sided(d / 0.1, math.inf) < 0.05 for d in rng.normal(size, 0.1, 4000)]
    assert np.mean(found) == pytest.approx(0.80, abs=0.02)


def test_an_illustration_decides_nothing():
    rough = replace(retest(0.01), illustration=True)
    seen = change(GAIN, *pair(0.1, 0.9), rough)
    assert seen.direction == "cannot_tell"
    assert not seen.decides
    assert "illustration" in seen.why
