"""Placing measures in reference sets. Values: Yu 2022 and Su 2000 as named beside each check;
the normal distribution is checked against SciPy's."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.reading.limits import limits
from slowphase.recording.session import Patient
from slowphase.reference.normal import percentile, probability_below, probability_outside
from slowphase.reference.select import candidates, place, place_all
from slowphase.reference.sets import marks, read_set, reference_digest, reference_sets

UNITS = {"gain": "1", "phase": "deg", "asymmetry": "%", "time_constant": "s", "velocity": "deg/s"}
BIBLIOGRAPHY = Path(__file__).parents[2] / "docs" / "references.bib"


def measured(name, value, half=0.02, **more):
    keys = {"unit": UNITS[name], "definition": "steady_state", **more}
    return Measure(f"x/{name}", name, value, value - half, value + half, **keys)


def sinusoid(frequency_hz, vision="dark", **keys):
    stimulus = {"frequency_hz": frequency_hz, **keys}
    return TrialResult("x", "sinusoid", vision, stimulus, "done", None, None)


def aged(age):
    return Patient("p", age)


@pytest.mark.parametrize(
    ("age", "name", "mean", "sd"),
    [  # Yu 2022, 0.01 Hz, as read in the first table; a lead is negative there, positive here
        (25, "gain", 0.30, 0.08),
        (35, "gain", 0.27, 0.11),
        (45, "gain", 0.36, 0.14),
        (57, "gain", 0.38, 0.12),
        (25, "phase", 44.86, 5.84),
        (57, "phase", 43.81, 7.48),
        (59.9, "phase", 43.81, 7.48),
    ],
)
def test_yus_mean_is_the_middle_and_two_sds_are_the_ends(age, name, mean, sd):
    middle = place(measured(name, mean), sinusoid(0.01), aged(age))
    low = place(measured(name, mean - 1.959964 * sd), sinusoid(0.01), aged(age))
    assert middle.set == "yu-2022"
    assert middle.mark == "read"
    assert middle.percentile == pytest.approx(50)
    assert low.percentile == pytest.approx(2.5, abs=1e-4)
    assert (middle.lower, middle.upper) == pytest.approx((mean - 1.96 * sd, mean + 1.96 * sd), 1e-3)


def test_sus_gain_at_002_hz_fits_any_adult():
    found = place(measured("gain", 0.47), sinusoid(0.02), aged(63))  # Su 2000: 0.47 ± 0.16
    assert (found.set, found.percentile) == ("su-2000", pytest.approx(50))
    assert place(measured("gain", 0.47), sinusoid(0.02), aged(9)) is None


@pytest.mark.parametrize(
    ("measure", "trial", "age"),
    [
        (measured("gain", 0.4), sinusoid(0.04), 57),  # nobody published 0.04 Hz here
        (measured("gain", 0.4), sinusoid(0.01), 63),  # Yu ends at 59
        (measured("gain", 0.4), sinusoid(0.01), None),
        (measured("gain", 0.4), sinusoid(0.01, "light"), 57),
        (measured("gain", 0.4, definition="other"), sinusoid(0.01), 57),
        (measured("gain", 0.4, unit="%"), sinusoid(0.01), 57),
        (measured("gain", 0.4), sinusoid(0.0112), 57),
        (measured("gain", 0.4), TrialResult("x", "step", "dark", {}, "done", None, None), 57),
    ],
)
def test_a_measure_without_a_fitting_set_has_no_reference(measure, trial, age):
    assert place(measure, trial, aged(age)) is None


def test_a_missing_value_is_not_placed():
    missing = replace(measured("gain", 0.4), value=None, low=None, high=None)
    assert place(missing, sinusoid(0.01), aged(57)) is None


def test_what_is_unusable_is_not_placed():
    poor = replace(measured("gain", 0.4), grade="unusable")
    assert place(poor, sinusoid(0.01), aged(57)) is None
    assert place_all([replace(sinusoid(0.01), measures=(poor,))], [], aged(57)) == {}


def test_a_place_says_what_the_set_does_not_tell_of_itself():
    yu = place(measured("gain", 0.2), sinusoid(0.01), aged(57))
    su = place(measured("gain", 0.2), sinusoid(0.02), aged(57))
    assert (yu.n, yu.unstated) == (18, ("stimulus not stated",))
    assert (su.n, su.unstated) == (56, ("stimulus not stated", "ages not stated"))
    assert "n = 18; stimulus not stated" in yu.note


@pytest.mark.parametrize(("told", "limit"), [("video", 4.0), (" Electrodes", 6.0)])
def test_the_limit_of_a_spontaneous_nystagmus_depends_on_the_recording(told, limit):
    rest = TrialResult("x", "spontaneous", "dark", {}, "done", None, None)
    velocity = measured("velocity", 5.0, of="horizontal", definition="held_gaze")
    found = place(velocity, rest, aged(40), conditions={"recording": told})
    assert (found.lower, found.upper) == (-limit, limit)
    assert place(velocity, rest, aged(40)) is None


def test_the_table_and_the_rules_hold_measures_against_the_same_habits():
    habits = {(e.measure, e.recording): e for e in reference_sets() if e.set == "practice"}
    table = limits()
    assert habits["velocity", "video"].upper == table["spontaneous_velocity"].value
    assert habits["velocity", "electrodes"].upper == table["spontaneous_velocity_electrodes"].value
    assert habits["suppression", None].lower == table["suppression"].value
    assert habits["time_constant", None].lower == table["time_constant"].value


def test_what_is_only_remembered_is_offered_but_never_used_by_itself():
    trial = sinusoid(0.1, peak_velocity_deg_s=50.0)
    silent = place(measured("gain", 0.2), trial, aged(70))
    asked = place(measured("gain", 0.2), trial, aged(70), allowed=("memory",))
    assert silent.mark == "read"
    assert asked.mark == "memory"
    assert marks()["memory"].text == "from memory, unverified"


def test_what_was_read_comes_before_the_habits_of_the_trade():
    text = """
    [set]
    id = "{mark}"
    citation = "x"
    bib = ""
    mark = "{mark}"
    population = "x"
    [[entry]]
    measure = "gain"
    kind = "sinusoid"
    unit = "1"
    groups = [{{ lower = 0.1 }}]
    """
    sets = [*read_set(text.format(mark="practice")), *read_set(text.format(mark="read"))]
    assert place(measured("gain", 0.2), sinusoid(0.3), aged(40), sets=sets).set == "read"


def test_asymmetries_and_time_constants_of_unknown_definition_are_kept_but_not_compared():
    asymmetry = measured("asymmetry", 10.0, definition="not_stated")
    assert candidates(asymmetry, "sinusoid", "dark", {"frequency_hz": 0.01}, aged(25))
    assert place(asymmetry, sinusoid(0.01), aged(25)) is None
    step = TrialResult("x", "step", "dark", {}, "done", None, None)
    exponential = measured("time_constant", 13.0, definition="single_exponential")
    assert place(exponential, step, aged(40)) is None
    assert any(e.set == "su-2000" for e in candidates(exponential, "step", "dark", {}, aged(40)))


def test_a_short_time_constant_stands_beyond_the_limit_of_practice():
    step = TrialResult("x", "step", "dark", {}, "done", None, None)
    short = place(measured("time_constant", 5.0, definition="one_over_e"), step, aged(40))
    usual = place(measured("time_constant", 13.0, definition="one_over_e"), step, aged(40))
    assert (short.mark, short.percentile, short.lower, short.upper) == ("practice", None, 9.0, None)
    assert short.beyond_limit > 0.99
    assert usual.beyond_limit < 0.01


def test_a_pair_is_placed_by_the_frequency_of_its_dark_trial():
    pair = PairResult("suppression", "x", "y", (Measure("x~y/s", "suppression", 70, 60, 79, "%"),))
    slow = place_all([sinusoid(0.04)], [pair], aged(40))
    fast = place_all([sinusoid(0.64)], [pair], aged(40))
    assert slow["x~y/s"].lower == 80.0
    assert fast == {}


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.01, 10))
def test_percentiles_are_those_of_scipys_normal_distribution(value, mean, sd):
    assert percentile(value, mean, sd) == pytest.approx(100 * norm.cdf(value, mean, sd), abs=1e-9)


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.01, 3), st.floats(0.01, 3))
def test_each_half_of_a_lopsided_interval_has_its_own_width(limit, value, below, above):
    width = below if limit < value else above
    expected = norm.cdf(limit, value, width / norm.ppf(0.975))
    found = probability_below(limit, value, value - below, value + above)
    assert found == pytest.approx(expected, abs=1e-9)


def test_an_interval_that_touches_its_limit_leaves_one_chance_in_forty():
    assert probability_outside(10.0, 9.0, 11.0, 9.0, None) == pytest.approx(0.025)
    assert probability_outside(10.0, 9.0, 11.0, 9.0, 11.0) == pytest.approx(0.05)
    assert probability_outside(10.0, 10.0, 10.0, 9.0, None) == 0.0


def test_every_entry_says_how_it_is_known_and_where_it_stands():
    keys = set(re.findall(r"@\w+\{([^,]+),", BIBLIOGRAPHY.read_text(encoding="utf-8")))
    for entry in reference_sets():
        assert entry.mark in marks()
        assert entry.source
        assert (entry.mean is None) == (entry.sd is None)
        assert not (entry.mean is entry.lower is entry.upper is None)
        assert entry.mark == "practice" or entry.bib in keys, entry


def test_the_digest_is_a_sha256_of_the_sets():
    assert re.fullmatch(r"[0-9a-f]{64}", reference_digest())
