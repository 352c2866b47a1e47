"""Keys of an irrigation and of typed calorics: one problem for each wrong one, the rest is read."""

import pytest
from session_folder import SessionFolder, as_csv, rest_trace

from slowphase.analysis.run import analyze
from slowphase.recording.read import read_session

TYPED = {"right_warm": 30, "right_cool": 26, "left_warm": 28, "left_cool": 25}


def typed_trial(folder: SessionFolder, **values: object) -> None:
    folder.add_trial(
        'id = "typed"',
        'kind = "values"',
        'test = "caloric"',
        *(f"{key} = {value}" for key, value in values.items()),
    )


def test_typed_calorics_come_through_to_the_group(folder: SessionFolder) -> None:
    typed_trial(folder, **TYPED)
    session = read_session(folder.write())
    assert session.problems == ()
    found = {measure.id: measure for measure in analyze(session).measures()}
    assert found["caloric/unilateral_weakness"].value == pytest.approx(100 * 3 / 109)


@pytest.mark.parametrize(
    ("key", "value", "code"),
    [
        ("right_warm", 3000, "out_of_range"),
        ("left_cool", '"25"', "wrong_type"),
        ("fixation_index", 45, "out_of_range"),
        ("spontaneous", "nan", "wrong_type"),
    ],
)
def test_a_wrong_typed_value_is_one_problem_with_its_line_and_is_left_out(
    folder: SessionFolder, key: str, value: object, code: str
) -> None:
    typed_trial(folder, **{**TYPED, key: value})
    session = read_session(folder.write())
    (problem,) = session.problems
    assert (problem.code, problem.key) == (code, key)
    assert problem.line == folder.line_of(f"{key} = {value}")
    found = {measure.id: measure for measure in analyze(session).measures()}
    whole = found["caloric/unilateral_weakness"]
    if key in TYPED:
        assert whole.why == (f"{key}_missing",)
        warmth = "cool" if key.endswith("warm") else "warm"
        assert found[f"caloric/unilateral_weakness_{warmth}"].value is not None
    else:
        assert whole.value is not None


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("irrigation_s = [40, 10]", "wrong_type"),
        ("irrigation_s = 10", "wrong_type"),
        ('irrigation_start_s = "soon"', "wrong_type"),
    ],
)
def test_a_wrong_time_of_the_irrigation_is_one_problem_and_the_trial_is_read(
    folder: SessionFolder, line: str, code: str
) -> None:
    folder.write_file("rest.csv", as_csv(rest_trace()))
    folder.add_trial(
        'id = "x"',
        'kind = "caloric"',
        'file = "rest.csv"',
        'ear = "left"',
        "temperature_c = 30",
        line,
    )
    session = read_session(folder.write())
    (problem,) = session.problems
    assert problem.code == code
    assert session.trials[0].recording is not None
