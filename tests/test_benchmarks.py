"""What the benchmarks count: errors, missing values, shares and coverage."""

import itertools
import math

import numpy as np
import pytest

from benchmarks.__main__ import ABOUT_MINUTES, ALL, chosen
from benchmarks.accuracy import one_session
from benchmarks.errors import Compared, compare, quantile, summary
from benchmarks.limits import FACTORS
from benchmarks.limits import one_session as one_limit
from benchmarks.reference_intervals import COUNTS, POPULATIONS
from benchmarks.reference_intervals import run as run_intervals
from slowphase.measures.measure import Measure


def measured(name, value, low=None, high=None):
    grade = "unusable" if value is None else "sound"
    return Measure(f"trial/{name}", name, value, low, high, unit="1", grade=grade)


def test_a_gain_in_the_dark_is_off_by_percent_of_the_truth_and_of_a_twentieth_at_least():
    value = compare("sinusoid", measured("gain", 0.55, 0.5, 0.6), 0.5, "trial")
    assert (value.unit, value.covered) == ("%", True)
    assert value.error == pytest.approx(10.0)
    assert value.half_width == pytest.approx(10.0)
    small = compare("sinusoid", measured("gain", 0.02, 0.015, 0.025), 0.01, "trial")
    assert small.error == pytest.approx(20.0)
    assert small.covered is False


def test_a_gain_with_a_target_is_off_by_an_absolute_amount():
    value = compare("sinusoid (target)", measured("gain", 0.012, 0.0, 0.02), 0.010, "trial")
    assert value.unit == "ratio"
    assert value.error == pytest.approx(0.002)


def test_phases_differ_on_the_circle():
    value = compare("sinusoid", measured("phase", 179.0, 178.0, 180.0), -179.0, "trial")
    assert value.error == pytest.approx(2.0)


def test_a_missing_value_is_worse_than_any_other():
    missing = compare("sinusoid", measured("gain", None), 0.5, "trial")
    assert math.isinf(missing.error)
    given = [Compared("step", "gain", "%", float(e), 1.0, True, "sound") for e in range(8)]
    row = summary([*given, missing, missing])
    assert row["given_pct"] == 80.0
    assert row["p90"] is None
    assert row["median"] == 5.0
    assert row["worst_sound"] == 7.0
    assert row["coverage_pct"] == 100.0


def test_a_quantile_beside_a_missing_value_is_not_made_up_between_them():
    assert quantile(np.array([1.0, 2.0, np.inf]), 50) == 2.0
    assert quantile(np.array([1.0, 2.0, np.inf]), 60) is None


def test_a_session_is_compared_in_the_same_way_each_time():
    first, second = one_session(("healthy-60", 3)), one_session(("healthy-60", 3))
    assert first == second
    names = {(value.kind, value.name) for value in first.ours}
    assert {("sinusoid (target)", "gain"), ("step", "time_constant")} <= names
    assert ("sin-0.08", "sinusoid", "gain") in first.plain
    assert ("step-right", "step", "per/gain") in first.plain
    assert {(value.trial, value.kind, value.key) for value in first.ours} >= set(first.plain)


def test_every_level_of_a_factor_changes_the_case():
    for factor in FACTORS:
        cases = [factor.case(level) for level in factor.levels]
        assert all(before != after for before, after in itertools.pairwise(cases))


def test_a_healthy_case_of_the_limits_is_measured_within_ten_percent():
    names = [factor.name for factor in FACTORS]
    values = one_limit((names.index("blinks"), 10.0, 0))
    assert {value.name for value in values} == {"gain", "phase", "bias", "time_constant"}
    assert all(value.error < 10.0 for value in values)


def test_benchmarks_run_in_order_all_without_a_name_and_only_those_that_exist():
    assert chosen([]) == chosen(["all"]) == list(ALL)
    assert chosen(["speed", "limits"]) == ["limits", "speed"]
    assert set(ABOUT_MINUTES) == set(ALL)
    with pytest.raises(SystemExit, match="no benchmark is called 'nosuch'"):
        chosen(["nosuch"])


def test_reference_intervals_of_simulated_groups_cover_about_as_they_claim():
    rows = run_intervals(150, 2)
    assert len(rows) == len(COUNTS) * len(POPULATIONS) + 2
    for row in rows[:-2]:
        assert min(row["lower_covered_pct"], row["upper_covered_pct"]) > 80.0, row
        assert 3.0 < row["outside_pct"] < 7.0, row
