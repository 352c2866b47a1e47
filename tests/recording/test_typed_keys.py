"""Typed values in session.toml: what each test may hold, and what is said when it does not."""

import pytest
from session_folder import SessionFolder, the_one_problem, trial_of

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_groups, measure_trials
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.keys import key_tables, value_fits
from slowphase.recording.read import read_session


@pytest.mark.parametrize(
    ("keys", "code", "said"),
    [
        ('test = "audiogramm"', "wrong_value", "audiogram"),
        ('test = "audiogram"\nright_air_db = { 500 = 300 }', "wrong_type", "Hz to dB"),
        ('test = "audiogram"\nright_air_db = { low = 30 }', "wrong_type", "Hz to dB"),
        ('test = "audiogram"\nright_air = { 500 = 30 }', "unknown_key", "right_air_db"),
        (
            'test = "evoked_potential"\nresponse = "cervical"\nright_amplitude = -3',
            "out_of_range",
            "0 to 10000 uV",
        ),
        ('test = "evoked_potential"\nright_amplitude = 30', "missing_key", "cervical"),
    ],
)
def test_a_typed_value_that_cannot_be_is_one_clear_problem(
    sound: SessionFolder, keys: str, code: str, said: str
) -> None:
    sound.add_trial(f'id = "typed"\nkind = "values"\n{keys}')
    problem = the_one_problem(read_session(sound.write()))
    assert problem.code == code
    assert said in problem.message


def test_typed_values_are_kept_as_they_are(sound: SessionFolder) -> None:
    sound.add_trial(
        'id = "typed"\nkind = "values"\ntest = "audiogram"\n'
        'left_air_db = { 500 = 20, 4000 = "no response" }'
    )
    session = read_session(sound.write())
    assert session.problems == ()
    levels = trial_of(session, "typed").stimulus["left_air_db"]
    assert levels == {"500": 20, "4000": "no response"}


def test_one_wrong_tone_is_named_and_leaves_the_others(sound: SessionFolder) -> None:
    sound.add_trial(
        'id = "typed"\nkind = "values"\ntest = "audiogram"\n'
        'left_air_db = { 500 = 20, 1000 = 300, 4000 = "no response" }'
    )
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert problem.code == "wrong_value"
    assert "1000 = 300" in problem.message
    levels = trial_of(session, "typed").stimulus["left_air_db"]
    assert levels == {"500": 20, "4000": "no response"}


def test_an_unknown_unit_is_a_problem_and_stays_beside_its_numbers(sound: SessionFolder) -> None:
    sound.add_trial(
        'id = "typed"\nkind = "values"\ntest = "evoked_potential"\nresponse = "cervical"\n'
        'amplitude_unit = "mV"\nright_amplitude = 0.08'
    )
    session = read_session(sound.write())
    assert "mV" in the_one_problem(session).message
    assert trial_of(session, "typed").stimulus["amplitude_unit"] == "mV"


def test_typed_values_under_a_name_that_is_taken_are_not_read(sound: SessionFolder) -> None:
    keys = 'id = "v"\nkind = "values"\ntest = "caloric"\nright_warm = {}\nright_cool = 20'
    sound.add_trial(keys.format(30))
    sound.add_trial(keys.format(-12))
    session = read_session(sound.write())
    assert the_one_problem(session).code == "duplicate_trial_id"
    trials = [trial for trial in session.trials if trial.kind == "values"]
    found = measure_trials(trials, EyeSettings(), MeasureSettings())
    assert [bool(one.measures) for one in found] == [True, False]
    (group,) = measure_groups(found, MeasureSettings())
    assert group.trials == ("v",)
    total = next(m for m in group.measures if (m.name, m.of) == ("total", "right ear"))
    assert total.value == 50


@pytest.mark.parametrize("text", ["P\0", "\x1b[31mP", "\x85", "\ud800"])
def test_a_patient_code_with_a_control_sign_is_no_text(text):
    code = key_tables()["patient"].keys["code"]
    assert not value_fits(code, text)
    assert value_fits(code, "Péter 東\n2")
