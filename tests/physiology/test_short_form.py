from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.foundation.errors import UsageError
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid, standard_protocol, step
from slowphase.physiology.scenario import person_from, scenario_from
from slowphase.physiology.truth import sinusoid_truth, step_truth


def _time_constant_s(person):
    return step_truth(person, step("right"), 0.0)["per/time_constant"]


def _gain(person, frequency_hz):
    return sinusoid_truth(person, sinusoid(frequency_hz), 0.0)["gain"]


def test_no_short_key_leaves_the_default_person():
    assert person_from({}) == Person()


def test_fields_can_be_changed_on_top_of_short_keys():
    person = person_from({"right": 0.5, "spontaneous": {"bias_deg_s": 2.0}})
    assert person.spontaneous.bias_deg_s == 2.0
    assert person.reflex.right.gain < person.reflex.left.gain


def test_age_lowers_the_gain_most_at_a_hundredth_of_a_hertz():
    # Chan et al. 2016, Laryngoscope 126:460–463; Peterka et al. 1990: a little; abstracts read
    young, old = person_from({"age_years": 30}), person_from({"age_years": 80})
    kept = [_gain(old, f) / _gain(young, f) for f in (0.01, 0.04, 0.64)]
    assert kept[0] < kept[1] < kept[2]
    assert kept[0] > 0.8
    phases = [sinusoid_truth(p, sinusoid(0.01), 0.0)["phase"] for p in (young, old)]
    assert 0.0 < phases[1] - phases[0] < 8.0


def test_drowsiness_shortens_the_time_constant_and_lowers_the_gain():
    # Matta, Enticott 2004, abstract read: T 15.8 → 10.5 s, step gain 0.53 → 0.49
    alert, drowsy = person_from({"alertness": 1.0}), person_from({"alertness": 0.0})
    shorter = _time_constant_s(drowsy) / _time_constant_s(alert)
    assert shorter == pytest.approx(10.5 / 15.8, abs=0.05)
    gains = [step_truth(p, step("right"), 0.0)["per/gain"] for p in (alert, drowsy)]
    assert 0.8 < gains[1] / gains[0] < 0.95
    assert drowsy.alertness.lapses_per_min > 0.0


def test_alertness_may_also_be_a_table_of_fields():
    assert person_from({"alertness": {"throughout": 0.7}}).alertness.throughout == 0.7


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(20.0, 90.0))
def test_mirroring_the_short_keys_mirrors_the_measures(right, left, compensated, age_years):
    keys = {"compensated": compensated, "age_years": age_years}
    one = person_from({"right": right, "left": left} | keys)
    other = person_from({"right": left, "left": right} | keys)
    plan = sinusoid(0.04)
    first, second = sinusoid_truth(one, plan, 0.0), sinusoid_truth(other, plan, 0.0)
    assert first["gain_right"] == pytest.approx(second["gain_left"])
    assert first["bias"] == pytest.approx(-second["bias"])
    np.testing.assert_allclose(first["gain"], second["gain"], atol=1e-12)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"person": {"right": 1.4}}, r"person\.right = 1\.4: allowed is 0 to 1"),
        ({"person": {"righ": 1.0}}, r"unknown 'righ' in person \(did you mean 'right'\?\); known"),
        ({"person": {"right": "good"}}, r'person\.right = "good": expected a number'),
        ({"person": {"right": True}}, r"person\.right = true: expected a number"),
        ({"person": {"right": float("nan")}}, r"person\.right = nan: allowed is"),
        ({"person": {"reflex": {"right": {"gain": 9}}}}, r"person\.reflex\.right\.gain = 9: allow"),
        ({"person": {"reflex": {"right": 9}}}, r"person\.reflex\.right = 9: expected a table"),
        (
            {"equipment": {"sampling_hz": 0}},
            r"equipment\.sampling_hz = 0: allowed is 10 to 4000 Hz",
        ),
        ({"equipment": {"method": "film"}}, r'expected one of "video", "electrodes"'),
        ({"equipment": {"eyes": "left"}}, r"expected a list of texts"),
        ({"protocol": {"frequencies_hz": [0.1, 50]}}, r"protocol\.frequencies_hz .* 20 Hz"),
        ({"trial": [{"id": "sin-0.04", "cycles": 0}]}, r'trial "sin-0\.04"\.cycles = 0: allowed'),
        ({"trial": [{"id": "x"}]}, r'trial "x": a new trial needs a kind'),
        ({"trial": [{"id": "x", "like": "y"}]}, r"unknown 'y' in trial \"x\""),
        ({"trial": [{"id": "x", "kind": "sinusoid"}]}, r"a sinusoid needs frequency_hz"),
        ({"trial": [{"kind": "step"}]}, r"trial 1: there is no id"),
        ({"trial": [{"id": "x", "drop": True}]}, r"unknown 'x'"),
        ({"persons": {}}, r"unknown 'persons' in the scenario \(did you mean 'person'\?\)"),
        ({"person": 3}, r"person is no table"),
        ({"seed": -1}, r"seed = -1: allowed is 0 to"),
        ({"seed": 1.5}, r"seed = 1\.5: expected a whole number"),
    ],
)
def test_a_wrong_scenario_is_refused_with_what_would_be_right(table, words):
    with pytest.raises(UsageError, match=words):
        scenario_from(table)


def test_an_endless_adaptation_is_allowed():
    person = person_from({"reflex": {"right": {"dynamics": {"adaptation_s": float("inf")}}}})
    assert np.isinf(person.reflex.right.dynamics.adaptation_s)


def test_the_protocol_can_be_chosen_in_a_few_keys():
    keys = {"frequencies_hz": [0.05, 0.1], "peak_velocity_deg_s": 50, "light_leak": 0.3}
    plans = scenario_from({"protocol": keys | {"step_velocity_deg_s": 90}}).protocol
    dark = [p for p in plans if p.kind == "sinusoid" and p.vision == "dark"]
    assert [p.frequency_hz for p in dark] == [0.05, 0.1]
    assert {p.peak_velocity_deg_s for p in plans if p.kind == "sinusoid"} == {50}
    assert {p.velocity_deg_s for p in plans if p.kind == "step"} == {90}
    assert {p.light_leak for p in plans if p.vision != "dark"} == {0.0}
    assert {p.light_leak for p in dark} == {0.3}


def test_an_empty_choice_is_the_standard_protocol():
    assert scenario_from({"protocol": {}}).protocol == standard_protocol()


def test_trials_are_changed_after_the_choice():
    table = {
        "protocol": {"peak_velocity_deg_s": 50},
        "trial": [{"id": "sin-0.04", "peak_velocity_deg_s": 40}],
    }
    plans = {plan.id: plan for plan in scenario_from(table).protocol}
    assert plans["sin-0.04"].peak_velocity_deg_s == 40
    assert plans["sin-0.02"] == replace(sinusoid(0.02), peak_velocity_deg_s=50)
