"""Keys of single kinds: misspelt ones, those that contradict, times and references to nowhere."""

import pytest
from session_folder import the_one_problem, trial_of

from slowphase.recording.read import read_session

CALORIC = ('kind = "caloric"', 'ear = "right"', "temperature_c = 44")


@pytest.mark.parametrize(
    ("keys", "wrong", "meant"),
    [
        ((*CALORIC, "irrigaton_s = [1, 20]"), "irrigaton_s", "irrigation_s"),
        ((*CALORIC, "fixaton_s = [1, 20]"), "fixaton_s", "fixation_s"),
        (('kind = "pursuit"', "freqency_hz = 0.4"), "freqency_hz", "frequency_hz"),
        (('kind = "impulse"', 'plan = "RALP"'), "plan", "plane"),
    ],
)
def test_a_misspelt_key_of_an_open_kind_is_said(sound, keys, wrong, meant):
    sound.add_trial('id = "x"', 'file = "rest.csv"', *keys)
    problem = the_one_problem(read_session(sound.write()))
    assert (problem.code, problem.key, problem.expected) == ("unknown_key", wrong, f'"{meant}"')


@pytest.mark.parametrize(
    ("keys", "key", "left"),
    [
        ((*CALORIC, "irrigation_s = [1, 20]", "irrigation_start_s = 5"), "irrigation_s", ()),
        ((*CALORIC, "fixation_start_s = 5"), "fixation_start_s", ("fixation_start_s",)),
        (('kind = "impulse"', 'plane = "RALP"', 'canal = "left anterior"'), "plane", None),
        (('kind = "impulse"', 'plane = "lateral"', 'canal = "left anterior"'), "plane", None),
    ],
)
def test_keys_that_contradict_each_other_are_one_problem(sound, keys, key, left):
    sound.add_trial('id = "x"', 'file = "rest.csv"', *keys)
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert (problem.code, problem.key) == ("contradicting_keys", key)
    trial = trial_of(session, "x")
    assert (trial.recording is None) == (left is None)
    if left is not None:
        assert set(trial.stimulus) == {"ear", "temperature_c", *left}


@pytest.mark.parametrize(
    "keys",
    [
        (*CALORIC, "irrigation_s = [1, 20]", "irrigation_start_s = 1", "irrigation_stop_s = 20"),
        (*CALORIC, "fixation_start_s = 5", "fixation_stop_s = 9"),
        ('kind = "impulse"', 'plane = "RALP"', 'canal = "right anterior"'),
        ('kind = "impulse"', 'plane = "horizontal"', 'canal = "left lateral"'),
        ('kind = "impulse"', 'plane = "LARP"', 'canal = "both"'),
    ],
)
def test_keys_that_say_the_same_contradict_nothing(sound, keys):
    sound.add_trial('id = "x"', 'file = "rest.csv"', *keys)
    session = read_session(sound.write())
    assert session.problems == ()
    assert trial_of(session, "x").recording is not None


@pytest.mark.parametrize(
    ("keys", "key", "kept"),
    [
        ((*CALORIC, "irrigation_s = [600, 630]"), "irrigation_s", False),
        ((*CALORIC, "fixation_s = [20, 600]"), "fixation_s", True),
        (('kind = "gaze"', "held_s = [60, 90]"), "held_s", False),
        (('kind = "positional"', "positioned_s = 300"), "positioned_s", False),
        (('kind = "optokinetic"', "moving_s = [60, 90]"), "moving_s", False),
    ],
)
def test_a_time_outside_the_recording_is_said(sound, keys, key, kept):
    sound.add_trial('id = "x"', 'file = "rest.csv"', *keys)
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert (problem.code, problem.key, problem.trial) == ("time_outside_recording", key, "x")
    assert "lasts 24.99 s" in problem.message
    assert (key in trial_of(session, "x").stimulus) == kept


def test_a_trial_that_was_stopped_may_end_before_its_keys(sound):
    sound.add_trial('id = "x"', 'file = "rest.csv"', *CALORIC, "irrigation_s = [-40, -10]",
                    "fixation_s = [20, 60]", 'outcome = "stopped"')  # fmt: skip
    assert read_session(sound.write()).problems == ()


@pytest.mark.parametrize("target", ["nobody", "up", "sound"])
def test_a_position_that_does_not_exist_is_said(sound, target):
    sound.add_trial('id = "up"', 'kind = "positional"', 'file = "rest.csv"',
                    f'sits_up_from = "{target}"')  # fmt: skip
    problem = the_one_problem(read_session(sound.write()))
    assert (problem.code, problem.key, problem.found) == ("wrong_position", "sits_up_from", target)


def test_targets_out_of_the_field_are_answered_with_the_range(sound):
    sound.add_trial('id = "x"', 'kind = "saccade"', 'file = "rest.csv"', "targets_deg = [0, 1000]")
    assert "each from -90 to 90 deg" in the_one_problem(read_session(sound.write())).expected
