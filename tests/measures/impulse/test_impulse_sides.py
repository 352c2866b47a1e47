"""One side against the other, over trials and typed values; and the keys of typed values."""

from dataclasses import replace

import numpy as np
import pytest
from made_impulses import Given, Made, measured, recording_of, series, table

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_groups, measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.reading.cautions import kind_cautions
from slowphase.reading.function import function_points
from slowphase.recording.read import read_session
from slowphase.recording.session import Patient
from slowphase.recording.trial import Trial
from slowphase.recording.write import write_session
from slowphase.reference.select import place

SETTINGS = MeasureSettings()


def typed(**keys):
    trial = Trial(id="elsewhere", kind="values", stimulus={"test": "impulse", **keys})
    return measure_trial(trial, EyeSettings(), SETTINGS)


def group(*results):
    found = measure_groups(results, SETTINGS)
    return {(measure.of, measure.name): measure for one in found for measure in one.measures}


def test_the_sides_are_compared_with_an_interval():
    result = measured(recording_of(Made(series(20, seed=2, gains=(0.4, 0.8), spread=0.03))))
    found = group(result)
    asymmetry, difference = found["lateral", "asymmetry"], found["lateral", "gain_difference"]
    assert asymmetry.value == pytest.approx(100 * (0.4 - 0.8) / 1.2, abs=3.0)
    assert asymmetry.low < -33.3 < asymmetry.high < 0
    assert difference.value == pytest.approx(-0.4, abs=0.03)
    assert set(found) == {("lateral", "asymmetry"), ("lateral", "gain_difference")}


def test_the_interval_of_an_asymmetry_agrees_with_drawn_gains():
    keys = {"gain_right_lateral": 0.5, "gain_interval_right_lateral": [0.44, 0.56]}
    keys |= {"gain_left_lateral": 0.9, "gain_interval_left_lateral": [0.86, 0.94]}
    asymmetry = group(typed(**keys))["lateral", "asymmetry"]
    rng = np.random.default_rng(0)
    right = rng.normal(0.5, 0.06 / 1.96, 200_000)
    left = rng.normal(0.9, 0.04 / 1.96, 200_000)
    drawn = np.percentile(100 * (right - left) / (right + left), [2.5, 97.5])
    assert (asymmetry.low, asymmetry.high) == pytest.approx(tuple(drawn), abs=0.3)


def test_each_side_may_have_a_trial_of_its_own():
    def one_side(side, name):
        given = tuple(replace(one, side=side) for one in series(8, seed=3, gains=(0.7, 0.7)))
        return replace(measured(recording_of(Made(given))), id=name)

    found = group(one_side(1, "right"), one_side(-1, "left"))
    assert found["lateral", "asymmetry"].value == pytest.approx(0.0, abs=3.0)


def test_anterior_and_posterior_canals_are_paired_across_planes():
    keys = {"gain_right_anterior": 0.9, "gain_left_anterior": 0.6, "gain_left_posterior": 0.8}
    found = group(typed(gain_definition="regression", **keys))
    assert found["anterior", "asymmetry"].value == pytest.approx(20.0)
    assert found["anterior", "asymmetry"].low is None
    assert found["posterior", "asymmetry"].why == ("other_side_missing",)


def test_gains_of_unlike_definition_and_small_ones_are_not_compared():
    one = typed(gain_right_lateral=0.9, gain_definition="velocity_area")
    other = replace(typed(gain_left_lateral=0.8), id="other", parts=("other",))
    assert group(one, other)["lateral", "asymmetry"].why == ("definitions_differ",)
    small = group(typed(gain_right_lateral=0.1, gain_left_lateral=0.05))
    assert "gains_too_small" in small["lateral", "asymmetry"].why
    assert small["lateral", "gain_difference"].value == pytest.approx(0.05)


def test_typed_values_become_measures_that_say_so():
    keys = {"gain_right_lateral": 0.91, "gain_interval_right_lateral": [0.85, 0.97]}
    found = table(typed(late_saccades_right_lateral=80.0, target_distance_m=0.5, **keys))
    gain = found["right lateral", "gain"]
    assert (gain.value, gain.low, gain.high) == (0.91, 0.85, 0.97)
    assert gain.definition == "not_stated"
    assert set(gain.why) == {"measured_elsewhere", "near_target"}
    assert found["right lateral", "late_saccades"].value == 80.0


def test_a_typed_gain_at_80_ms_is_not_called_one_by_area():
    found = table(typed(gain_right_lateral=0.91, gain_definition="velocity_at_80_ms"))
    assert set(found) == {("right lateral", "gain_at_80_ms")}


def test_nothing_typed_is_said():
    assert {measure.why for measure in typed().measures} == {("nothing_typed",)}


def session_of(tmp_path, *lines):
    head = 'schema = 1\n[patient]\ncode = "x"\n[session]\ndate = 2026-03-02\n'
    text = head + '[[trial]]\nid = "v"\nkind = "values"\n' + "\n".join(lines) + "\n"
    (tmp_path / "session.toml").write_text(text, encoding="utf-8")
    return read_session(tmp_path)


@pytest.mark.parametrize(
    ("line", "code", "word"),
    [
        ("gain_right_lateral = 91", "out_of_range", "-1 to 3"),
        ("gain_rigth_lateral = 0.9", "unknown_key", "gain_right_lateral"),
        ('gain_definition = "area"', "wrong_value", "velocity_area"),
        ("late_saccades_left_lateral = 120", "out_of_range", "0 to 100"),
        ("gain_interval_left_lateral = [0.9]", "wrong_type", "two rising numbers"),
    ],
)
def test_a_typed_value_that_cannot_be_is_one_clear_problem(tmp_path, line, code, word):
    session = session_of(tmp_path, 'test = "impulse"', "gain_left_anterior = 0.8", line)
    (problem,) = session.problems
    assert problem.code == code
    assert word in problem.message
    assert session.trials[0].stimulus["gain_left_anterior"] == 0.8


def test_typed_values_of_other_tests_are_not_held_to_these_keys(tmp_path):
    problems = session_of(tmp_path, "anything = 3").problems
    assert [(problem.code, problem.key) for problem in problems] == [("missing_key", "test")]


def test_a_plane_in_other_words_is_one_clear_problem_and_no_lateral_gain(tmp_path):
    rows = "".join(f"{i / 100:.2f},{i % 7},{i % 5}\n" for i in range(60))
    (tmp_path / "x.csv").write_text("t,h,e\n" + rows, encoding="utf-8")
    columns = (
        '[columns]\ntime = { name = "t", unit = "s" }\n'
        'head_velocity = { name = "h", unit = "deg/s" }\n'
        'eye_h_right = { name = "e", unit = "deg" }\n[[trial]]\n'
    )
    impulse = 'kind = "impulse"\nfile = "x.csv"\n'
    session = session_of(
        tmp_path, 'test = "impulse"', columns + 'id = "i"\nplane = "vertical"\n' + impulse,
        '[[trial]]\nid = "j"\nplane = "horizontal"\n' + impulse,
    )  # fmt: skip
    (problem,) = session.problems
    assert (problem.code, problem.key, problem.trial) == ("wrong_value", "plane", "i")
    assert "RALP" in problem.message
    assert [trial.recording is None for trial in session.trials] == [True, True, False]


def test_pitch_and_roll_are_read_in_their_units_and_written_back(tmp_path):
    time_s = np.arange(60) / 100.0
    eye = np.sin(time_s)
    rows = "".join(f"{t:.2f},{t:.3f},{-t:.3f},{e:.4f}\n" for t, e in zip(time_s, eye, strict=True))
    (tmp_path / "x.csv").write_text("t,p,r,e\n" + rows, encoding="utf-8")
    columns = (
        '[columns]\ntime = { name = "t", unit = "s" }\n'
        'head_velocity_pitch = { name = "p", unit = "rad/s", positive = "down" }\n'
        'head_velocity_roll = { name = "r", unit = "deg/s" }\n'
        'eye_v_right = { name = "e", unit = "deg" }\n[[trial]]\n'
    )
    impulse = 'id = "i"\nkind = "impulse"\nfile = "x.csv"\nplane = "RALP"\n'
    session = session_of(tmp_path, 'test = "impulse"', columns + impulse)
    assert session.problems == ()
    channels = session.trials[1].recording.channels
    assert channels["head_velocity_pitch"] == pytest.approx(-np.degrees(time_s))
    assert channels["head_velocity_roll"] == pytest.approx(-time_s)
    write_session(session, tmp_path / "again", decimals=6)
    again = read_session(tmp_path / "again").trials[1].recording.channels
    assert again["head_velocity_pitch"] == pytest.approx(channels["head_velocity_pitch"])


def test_the_lateral_gain_is_held_against_the_habit_of_the_trade_and_no_other_definition():
    result = measured(recording_of(Made(series(12, seed=2, gains=(0.5, 0.9)))))
    places = {m.name: place(m, result, Patient("x", 50.0)) for m in result.measures
              if m.of == "right lateral"}  # fmt: skip
    assert places["gain"].set == "practice-impulse"
    assert places["gain"].lower == 0.8
    assert places["gain"].mark == "practice"
    assert {name for name, found in places.items() if found is not None} == {"gain"}


def test_the_kind_has_its_cautions():
    assert "neck" in kind_cautions("impulse")[0]


def test_a_single_impulse_has_no_interval_and_so_has_its_side():
    given = (Given(1.0, 1), Given(4.0, -1), Given(7.0, -1), Given(10.0, -1))
    found = group(measured(recording_of(Made(given))))
    assert found["lateral", "asymmetry"].value is not None
    assert found["lateral", "asymmetry"].low is None


def test_recorded_impulses_go_before_typed_ones():
    recorded = measured(recording_of(Made(series(20, seed=2, gains=(0.9, 0.9), spread=0.03))))
    typed_in = typed(gain_definition="velocity_area", gain_right_lateral=0.9, gain_left_lateral=0.5)
    both, alone = group(recorded, typed_in), group(recorded)
    assert both["lateral", "asymmetry"] == alone["lateral", "asymmetry"]
    assert group(typed_in, recorded)["lateral", "asymmetry"] == alone["lateral", "asymmetry"]


def test_points_of_function_are_the_recorded_gains():
    recorded = measured(recording_of(Made(series(20, seed=2, gains=(0.9, 0.9), spread=0.03))))
    typed_in = typed(gain_right_lateral=0.9, gain_left_lateral=0.5)
    trials = (recorded, typed_in)
    points = function_points(trials, measure_groups(trials, SETTINGS))
    assert {p.measure.split("/")[0] for p in points} == {recorded.id}


def test_sides_of_two_sources_say_so():
    def one_side(result, side):
        own = tuple(m for m in result.measures if str(m.of).startswith(side))
        return replace(result, measures=own)

    recorded = measured(recording_of(Made(series(20, seed=2, gains=(0.9, 0.9), spread=0.03))))
    typed_in = typed(gain_definition="velocity_area", gain_left_lateral=0.5)
    found = group(one_side(recorded, "right"), typed_in)["lateral", "asymmetry"]
    assert found.value is not None
    assert "sides_of_two_sources" in found.why
    assert found.grade == "caution"
