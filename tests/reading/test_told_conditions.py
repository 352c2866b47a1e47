"""What was written of medicines, eyes, light and head position stands beside what it touches.

Dimenhydrinate: 50 mg lower the gain by 0.15 to 0.17 at 0.01 to 0.08 Hz (2007, n = 45, read); the
others are common practice without a source, or from memory, as conditions.toml marks them.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.reading.cautions import caution, session_cautions
from slowphase.reading.conditions import (
    cautions_about,
    condition_table,
    influences,
    is_dark,
    is_taken,
    told_conditions,
    unknown_medicine,
)
from slowphase.reading.read import read
from slowphase.reading.record import records
from slowphase.reading.rule import apply
from slowphase.reading.rules import RULES
from tests.reading.battery_findings import session
from tests.reading.cases.battery import calibrated
from tests.reading.sessions import ALERTED


def carried(**conditions):
    """The codes of the statements of a whole battery with any caution that quotes the words."""
    told = {**ALERTED, **conditions}
    (words,) = conditions.values()
    found = apply(RULES, session(conditions=told))
    return {s.code for s in found if any(str(words) in line for line in s.cautions)}


def test_a_medicine_that_lowers_gain_stands_beside_gains_and_constants_not_beside_impulses():
    codes = carried(medication="dimenhydrinate 50 mg this morning")
    assert {"response_to_rotation", "time_constant_right", "suppression", "pursuit_gain",
            "caloric_weakness"} <= codes  # fmt: skip
    assert not {"impulse_gain", "spontaneous_nystagmus"} & codes


def test_the_caution_says_what_it_does_who_says_so_and_quotes_what_was_written():
    (line,) = cautions_about({"medication": "Dimenhydrinate, 50 mg"}, ["gain"])
    assert "Dimenhydrinate, 50 mg" in line
    assert "0.15 to 0.17 at 0.01 to 0.08 Hz (n = 45" in line
    assert "2007, read" in line


def test_medicines_for_seizures_stand_beside_gaze_and_pursuit_alone():
    codes = carried(medication="carbamazepine 400 mg")
    assert {"pursuit_gain", "suppression", "spontaneous_nystagmus"} <= codes
    assert not {"response_to_rotation", "impulse_gain", "caloric_weakness"} & codes


@pytest.mark.parametrize(
    ("told", "word", "taken"),
    [
        ("Diazepam 5 mg", "diazepam", True),
        ("no diazepam for two days", "diazepam", False),
        ("no cinnarizine, diazepam last night", "diazepam", True),
        ("without sedatives", "sedatives", False),
        ("none, but diazepam last night", "diazepam", True),
        ("stopped diazepam yesterday", "diazepam", True),  # for a person to weigh: it is quoted
        ("nordiazepam", "diazepam", False),
        ("", "diazepam", False),
    ],
)
def test_a_medicine_counts_where_its_part_of_the_text_does_not_deny_it(told, word, taken):
    assert is_taken(told, word) is taken


@given(st.text(max_size=60))
def test_no_text_of_a_medication_stops_the_reading(text):
    list(influences({"medication": text, "light": text, "eyes": text}))
    unknown_medicine({"medication": text})


def test_a_medicine_that_is_not_in_the_list_is_said_to_be_unknown_once_for_the_session():
    lines = session_cautions({**ALERTED, "medication": "betahistine 16 mg"})
    assert any("betahistine 16 mg" in line and "nothing in it" in line for line in lines)
    assert carried(medication="betahistine 16 mg") == set()


@pytest.mark.parametrize("told", ["none", "None for two days", "no sedatives", "", "diazepam"])
def test_no_medicine_and_a_known_one_are_not_called_unknown(told):
    assert unknown_medicine({"medication": told}) == ""


@pytest.mark.parametrize(
    ("light", "dark"),
    [("dark", True), ("complete darkness", True), ("eyes covered", True), ("lights off", True),
     ("no light", True), ("dim", False), ("nearly dark", False), ("not dark", False),
     ("dark, light leak at the door", False), ("room light", False)],
)  # fmt: skip
def test_light_is_dark_only_where_nothing_takes_from_it(light, dark):
    assert is_dark(light) is dark


def test_light_and_closed_eyes_stand_beside_what_fixation_and_lids_change():
    assert {"spontaneous_nystagmus", "response_to_rotation"} <= carried(light="dim")
    assert {"spontaneous_nystagmus", "time_constant_left"} <= carried(eyes="closed")
    assert carried(light="dark") == carried(eyes="open") == set()


@pytest.mark.parametrize(("pitch", "touched"), [(30.0, False), (-30.0, False), (20.0, False),
                                                (0.0, True), (80.0, True)])  # fmt: skip
def test_a_head_far_from_the_plane_of_the_lateral_canals_is_said(pitch, touched):
    assert bool(cautions_about({"head_pitch_deg": pitch}, ["gain"])) is touched
    assert not cautions_about({"head_pitch_deg": pitch}, ["impulse"])


def test_medication_may_stand_in_the_session_or_in_its_conditions():
    assert told_conditions({"medication": "diazepam"}, {"eyes": "open"}) == {
        "eyes": "open", "medication": "diazepam",
    }  # fmt: skip
    both = told_conditions({"medication": "diazepam"}, {"medication": "alcohol"})
    assert both["medication"] == "alcohol; diazepam"
    assert told_conditions({}, {}) == {}


def test_every_rule_on_a_test_that_drowsiness_spoils_is_touched_by_sedatives():
    drowsy = {rule.code for rule in RULES if rule.needs_alertness}
    for code in drowsy:
        assert cautions_about({"medication": "sedative"}, records()[code].about), code


@pytest.mark.parametrize(("gain", "doubted"), [(1.3, True), (1.0, False)])
def test_a_calibration_that_does_not_fit_stands_beside_speeds_not_beside_ratios(gain, doubted):
    whole = session()
    trials = (*whole.trials, *calibrated(gain, gain).trials)
    carrying = {
        s.code for s in read(replace(whole, trials=trials)) if caution("scale") in s.cautions
    }
    assert (
        {"spontaneous_nystagmus", "response_to_rotation", "pursuit_gain"} <= carrying
    ) is doubted
    assert not {"time_constant_right", "suppression", "calibration_fits_not"} & carrying
    assert set(condition_table()["scale"]["statements"]) <= set(records())
