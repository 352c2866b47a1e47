"""Every key of session.toml: what it may hold, and what is said when it does not."""

import re
import sys
from pathlib import Path
from subprocess import run

import pytest
from numpy.testing import assert_allclose
from session_folder import (
    REST,
    SessionFolder,
    as_csv,
    sinusoid_keys,
    sinusoid_trace,
    step_trace,
    the_one_problem,
    trial_of,
)

from slowphase.foundation.errors import InputError
from slowphase.recording.keys import key_tables, kind_tables
from slowphase.recording.read import read_session
from slowphase.recording.toml_lines import find_lines
from slowphase.recording.trial import KINDS, OUTCOMES, VISIONS

TURNING = as_csv(sinusoid_trace())
GUIDE = Path(__file__).parents[2] / "docs/session-folder.md"


def test_the_tables_of_keys_hold_the_words_of_the_values() -> None:
    assert set(kind_tables()) == set(KINDS)
    assert key_tables()["trial"].keys["vision"].words == VISIONS
    assert key_tables()["trial"].keys["outcome"].words == OUTCOMES


def test_the_example_of_the_guide_is_read_without_a_problem(folder: SessionFolder) -> None:
    example = re.search(
        r"<!-- example.*?```toml\n(.*?)```", GUIDE.read_text(encoding="utf-8"), flags=re.DOTALL
    )
    assert example is not None
    folder.write_file("trials/rest.csv", REST)
    slow = sinusoid_trace(frequency_hz=0.04, duration_s=100)
    folder.write_file("trials/sin-0.04.csv", as_csv(slow))
    folder.write_file("trials/step-right.csv", as_csv(step_trace()))
    folder.write_file("session.toml", example[1])
    session = read_session(folder.path)
    assert session.problems == ()
    assert [trial.recording is not None for trial in session.trials] == [True, True, True, False]
    assert session.notes == {"examiner": "M. Example"}
    assert session.conditions["head_pitch_deg"] == 30
    assert trial_of(session, "step-left").reason == "nausea"


def test_every_kind_and_key_of_the_guide_is_known() -> None:
    for kind, table in kind_tables().items():
        row = next(
            x
            for x in GUIDE.read_text(encoding="utf-8").splitlines()
            if x.startswith("|") and f"`{kind}`" in x
        )
        assert [key for key in table.keys if f"`{key}" not in row] == []


OTHER_KINDS = {
    "calibration": ("targets_deg = [-10, 0, 10]",),
    "gaze": ("eccentricity_deg = 20",),
    "caloric": ('ear = "right"', "temperature_c = 44", 'medium = "water"', "fixation_s = [10, 20]"),
    "impulse": ('canal = "left horizontal"',),
    "saccade": ("amplitudes_deg = [5, 10]",),
    "pursuit": ("frequency_hz = 0.3", "amplitude_deg = 15"),
    "optokinetic": ("velocity_deg_s = 30", 'direction = "left"'),
    "positional": ('position = "head hanging right"',),
    "head-shaking": ("frequency_hz = 2",),
    "other": ("anything = 3",),
}


@pytest.mark.parametrize("kind", OTHER_KINDS)
def test_every_kind_parses_with_its_keys(sound: SessionFolder, kind: str) -> None:
    sound.add_trial('id = "x"', f'kind = "{kind}"', 'file = "rest.csv"', *OTHER_KINDS[kind])
    session = read_session(sound.write())
    assert session.problems == ()
    trial = trial_of(session, "x")
    assert trial.recording is not None
    assert set(trial.stimulus) == {line.split(" = ")[0] for line in OTHER_KINDS[kind]}


def test_values_need_no_file(sound: SessionFolder) -> None:
    keys = ('test = "impulse"', "gain_right_lateral = 0.91")
    sound.add_trial('id = "v"', 'kind = "values"', *keys)
    session = read_session(sound.write())
    assert session.problems == ()
    assert trial_of(session, "v").stimulus == {"test": "impulse", "gain_right_lateral": 0.91}


def test_values_without_their_test_are_kept_and_said(sound: SessionFolder) -> None:
    sound.add_trial('id = "v"', 'kind = "values"', "impulse_gain_right = 0.91")
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert (problem.code, problem.key) == ("missing_key", "test")
    assert '"audiogram"' in problem.expected
    assert trial_of(session, "v").stimulus == {"impulse_gain_right": 0.91}


def test_a_trial_not_done_needs_neither_file_nor_stimulus(sound: SessionFolder) -> None:
    keys = ('outcome = "not done"', 'reason = "nausea"')
    sound.add_trial('id = "n"', 'kind = "step"', 'direction = "left"', *keys)
    session = read_session(sound.write())
    assert session.problems == ()
    assert trial_of(session, "n").reason == "nausea"


BAD_LINES = [
    ("frequency_hz = 0.16", "frequency_hz = 0", "out_of_range", False),
    ("frequency_hz = 0.16", "frequency_hz = -0.16", "out_of_range", False),
    ("frequency_hz = 0.16", "frequency_hz = nan", "wrong_type", False),
    ("frequency_hz = 0.16", "frequency_hz = inf", "wrong_type", False),
    ("frequency_hz = 0.16", "frequency_hz = true", "wrong_type", False),
    ("frequency_hz = 0.16", 'frequency_hz = "0.16"', "wrong_type", False),
    ("frequency_hz = 0.16", "", "missing_key", False),
    ('vision = "dark"', 'vision = "drak"', "wrong_value", True),
    ('vision = "dark"', 'visoin = "dark"', "unknown_key", True),
    ('vision = "dark"', 'eye = "middle"', "wrong_value", False),
    ('vision = "dark"', "start_s = 20\nstop_s = 10", "wrong_part", False),
    ('vision = "dark"', "start_s = 900\nstop_s = 1000", "part_outside_file", False),
    ('vision = "dark"', 'repeat_of = "nobody"', "wrong_repeat", True),
    ('vision = "dark"', 'repeat_of = "bad"', "wrong_repeat", True),
    ('kind = "sinusoid"', 'kind = "sinusoidal"', "unknown_kind", False),
    ('kind = "sinusoid"', "", "missing_key", False),
    ('file = "rest.csv"', "", "missing_key", False),
    ('file = "rest.csv"', "file = 7", "wrong_type", False),
    ('id = "bad"', "id = 7", "wrong_type", True),
]


@pytest.mark.parametrize(("old", "new", "code", "read"), BAD_LINES)
def test_a_bad_key_is_one_problem_with_its_line(
    sound: SessionFolder, old: str, new: str, code: str, read: bool
) -> None:
    sound.write_file("rest.csv", TURNING)
    keys = [key for key in sinusoid_keys("bad", "rest.csv") if key != old]
    sound.add_trial(*keys, new)
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert problem.code == code
    assert (session.trials[1].recording is not None) is read
    if new and code != "part_outside_file":
        assert problem.file == "session.toml"
        line = sound.text().splitlines()[(problem.line or 0) - 1]
        assert line in new.splitlines()


def test_a_repeat_must_be_of_the_same_kind(sound: SessionFolder) -> None:
    keys = ('id = "r"', 'kind = "spontaneous"', 'file = "rest.csv"', 'repeat_of = "sound"')
    sound.add_trial(*keys)
    session = read_session(sound.write())
    assert the_one_problem(session).code == "wrong_repeat"
    assert trial_of(session, "r").repeat_of is None


BAD_HEADS = [
    ('code = "K-0417"', "", "missing_key"),
    ('code = "K-0417"', "code = 417", "wrong_type"),
    ('sex = "female"', 'sex = "f"', "wrong_value"),
    ('sex = "female"', 'sxe = "female"', "unknown_key"),
    ("age_years = 57", 'age_years = "57"', "wrong_type"),
    ("date = 2026-03-02", "", "missing_key"),
    ("schema = 1", "schema = 1\nsampling_hz = -5", "out_of_range"),
    ("schema = 1", "schema = 1\ncoloumns = 5", "unknown_key"),
]


@pytest.mark.parametrize(("old", "new", "code"), BAD_HEADS)
def test_a_bad_key_of_the_head_is_one_problem(
    sound: SessionFolder, old: str, new: str, code: str
) -> None:
    sound.head = sound.head.replace(old, new)
    assert the_one_problem(read_session(sound.write())).code == code


def test_a_missing_schema_is_one_problem(sound: SessionFolder) -> None:
    sound.head = sound.head.replace("schema = 1", "")
    assert the_one_problem(read_session(sound.write())).key == "schema"


BAD_COLUMNS = [
    ("eye_h_right  ", "eye_h_rihgt", "unknown_role"),
    ('"Rx", unit = "deg"', '"Rx"', "missing_unit"),
    ('"Rx", unit = "deg"', '"Rx", unit = "deg/s"', "unknown_unit"),
    ('"Rx", unit = "deg"', '"Rx", unit = "deg", scale = 0', "wrong_type"),
    ('"Rx", unit = "deg"', '"Rx", unit = "deg", sclae = 2', "unknown_key"),
    ('"Rx", unit = "deg"', '"Rx", unit = "deg", positive = "port"', "wrong_value"),
    ('name = "Rx"', "name = 0", "missing_key"),
    ('name = "Rx"', "name = 17", "unknown_column"),
]


@pytest.mark.parametrize(("old", "new", "code"), BAD_COLUMNS)
def test_a_bad_column_entry_is_one_problem_and_the_other_eye_serves(
    sound: SessionFolder, old: str, new: str, code: str
) -> None:
    sound.columns = sound.columns.replace(old, new)
    session = read_session(sound.write())
    problem = the_one_problem(session)
    assert problem.code == code
    if code != "unknown_column":
        assert problem.line == sound.line_of(new)
    recording = trial_of(session, "sound").recording
    assert recording is not None
    assert "eye_h_left" in recording.channels
    assert "eye_h_right" not in recording.channels


def test_two_columns_of_one_name_are_not_chosen_from(sound: SessionFolder) -> None:
    sound.add_sinusoid("two", content=TURNING.replace("Lx", "Rx", 1))
    sound.trials[1] += '[trial.columns]\neye_h_left = { name = 5, unit = "deg" }\n'
    assert the_one_problem(read_session(sound.write())).code == "ambiguous_column"


def test_a_trial_may_override_a_column(sound: SessionFolder) -> None:
    sound.add_sinusoid("own", content=TURNING.replace("Rx", "eye1", 1))
    sound.trials[1] += '[trial.columns]\neye_h_right = { name = "eye1", unit = "deg" }\n'
    session = read_session(sound.write())
    assert session.problems == ()
    first, second = (trial.recording for trial in session.trials)
    assert first is not None
    assert second is not None
    assert_allclose(first.channels["eye_h_right"], second.channels["eye_h_right"])


RATE = "sampling_hz = 100\n"


@pytest.mark.parametrize("place", ["top", "columns", "trial"])
def test_without_time_column_the_rate_counts(folder: SessionFolder, place: str) -> None:
    folder.columns = "\n".join(x for x in folder.columns.splitlines() if '"t"' not in x) + "\n"
    folder.head = RATE * (place == "top") + folder.head
    folder.columns += RATE * (place == "columns")
    folder.add_sinusoid("a", RATE * (place == "trial"))
    session = read_session(folder.write())
    assert session.problems == ()
    assert session.trials[0].recording is not None
    assert_allclose(session.trials[0].recording.time_s, sinusoid_trace()["t"], atol=1e-9)


def test_without_any_clock_one_problem_is_said(folder: SessionFolder) -> None:
    folder.columns = "\n".join(x for x in folder.columns.splitlines() if '"t"' not in x) + "\n"
    folder.add_sinusoid("a")
    folder.add_sinusoid("b")
    folder.add_trial('id = "n"', 'kind = "step"', 'outcome = "not done"')
    assert [problem.code for problem in read_session(folder.write()).problems] == ["no_clock"]


def test_a_wrong_unit_of_time_is_noticed(sound: SessionFolder) -> None:
    trace = sinusoid_trace()
    sound.add_sinusoid("ms", content=as_csv({**trace, "t": trace["t"] * 1000}))
    assert the_one_problem(read_session(sound.write())).code == "implausible_rate"


def test_parts_of_one_export_are_cut_at_their_times(folder: SessionFolder) -> None:
    content = as_csv(sinusoid_trace(duration_s=100))
    for number in range(4):
        part = (f"start_s = {25 * number}", f"stop_s = {25 * number + 24.99}")
        folder.add_sinusoid(f"part-{number}", *part, content=content, file="long.csv")
    said: list[str] = []
    session = read_session(folder.write(), progress=said.append)
    assert said == ["long.csv"]  # opened once
    assert session.problems == ()
    for trial in session.trials:
        assert trial.recording is not None
        assert_allclose(trial.recording.time_s, sinusoid_trace()["t"], atol=1e-6)


def test_the_digest_changes_with_any_byte(folder: SessionFolder) -> None:
    folder.add_sinusoid("a")
    first = read_session(folder.write()).input_digest
    assert read_session(folder.write()).input_digest == first
    folder.write_file(
        "trials/a.csv", TURNING.replace("60.", "61.", 1) if "60." in TURNING else TURNING + "\n"
    )
    assert read_session(folder.path).input_digest != first


def test_lines_are_found_in_the_right_trial() -> None:
    lines = find_lines('a = 1\n[[trial]]\nid = "x"\n[[trial]]\n"id" = "y"\n[trial.columns]\nt = 1')
    assert lines.of("", "a") == 1
    assert [lines.of("trial", "id", index=i) for i in (0, 1)] == [3, 5]
    assert lines.of("trial.columns", "t", index=1) == 7
    assert lines.of("trial", "absent", index=1) == 4


def test_importing_the_layer_loads_no_table_library() -> None:
    code = "import sys, slowphase.recording.read; print('polars' in sys.modules)"
    result = run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "False"


def test_the_free_kind_takes_any_key(sound: SessionFolder) -> None:
    sound.add_trial('id = "v"', 'kind = "other"', 'file = "rest.csv"', "eyes = 2", "visions = 3")
    session = read_session(sound.write())
    assert session.problems == ()
    assert trial_of(session, "v").stimulus == {"eyes": 2, "visions": 3}


def test_a_misspelt_shared_key_of_an_open_kind_is_said(sound: SessionFolder) -> None:
    keys = ('id = "g"', 'kind = "gaze"', 'file = "rest.csv"', "eccentricity_deg = 20")
    sound.add_trial(*keys, "fixation = 3", 'visoin = "dark"')
    session = read_session(sound.write())
    assert the_one_problem(session).expected == '"vision"'
    assert trial_of(session, "g").stimulus == {"eccentricity_deg": 20, "fixation": 3}


def test_a_path_in_windows_form_is_understood(sound: SessionFolder) -> None:
    sound.write_file("trials/rest.csv", REST)
    sound.add_trial('id = "w"', 'kind = "spontaneous"', r"file = 'trials\rest.csv'")
    session = read_session(sound.write())
    assert session.problems == ()
    assert trial_of(session, "w").recording is not None


def test_a_session_without_a_column_map_is_told_how_to_get_one(folder: SessionFolder) -> None:
    folder.columns = ""
    folder.add_sinusoid("a")
    with pytest.raises(InputError) as error:
        read_session(folder.write())
    (problem,) = error.value.problems
    assert problem.code == "no_clock"
    assert "[columns]" in problem.message
    assert "slowphase columns" in problem.message


def test_a_trace_named_in_place_of_its_session_is_recognised(folder: SessionFolder) -> None:
    folder.add_sinusoid("a")
    with pytest.raises(InputError, match="is a trace file") as error:
        read_session(folder.write() / "trials" / "a.csv")
    assert error.value.problems[0].code == "missing_session_file"
