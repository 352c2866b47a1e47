"""Bad input makes one problem that names its place, and the sound trials are still read."""

import os
from pathlib import Path

import pytest
from session_folder import (
    COLUMNS,
    SessionFolder,
    as_csv,
    sinusoid_trace,
    step_trace,
    the_one_problem,
)

from slowphase.foundation.errors import InputError
from slowphase.recording.read import read_session
from slowphase.recording.session import Session


def is_read(session: Session, name: str) -> bool:
    return next(t for t in session.trials if t.id == name).recording is not None


def test_a_sound_session_has_no_problems(sound: SessionFolder) -> None:
    session = read_session(sound.write())
    assert session.problems == ()
    assert session.patient.code == "K-0417"
    assert session.patient.age_years == 57
    assert len(session.input_digest) == 64


def test_the_session_file_itself_can_be_named(sound: SessionFolder) -> None:
    by_folder = read_session(str(sound.write()))
    by_file = read_session(sound.path / "session.toml")
    assert by_file.input_digest == by_folder.input_digest
    assert is_read(by_file, "sound")


def test_a_missing_file_is_named(sound: SessionFolder) -> None:
    sound.add_sinusoid("gone")
    (sound.path / "trials/gone.csv").unlink()
    problem = the_one_problem(read_session(sound.write()), "missing_file")
    assert (problem.trial, problem.file) == ("gone", "trials/gone.csv")


def test_an_unknown_column_is_named_with_the_nearest_and_the_other_eye_is_used(
    sound: SessionFolder,
) -> None:
    sound.columns = COLUMNS.replace('"Rx"', '"RX"')
    session = read_session(sound.write())
    problem = the_one_problem(session, "unknown_column")
    assert (problem.key, problem.found, problem.line) == ("eye_h_right", "RX", 1)
    assert problem.expected == 'perhaps "Rx"'
    assert session.trials[0].recording is not None
    assert "eye_h_right" not in session.trials[0].recording.channels


def test_an_unknown_column_of_several_files_is_one_problem(sound: SessionFolder) -> None:
    sound.columns = COLUMNS.replace('"Ly"', '"Lz"')
    sound.add_sinusoid("second")
    problem = the_one_problem(read_session(sound.write()), "unknown_column")
    assert problem.trial == "sound"
    assert '"second"' in problem.message


def test_a_rotation_whose_head_column_is_unknown_is_not_rebuilt(folder: SessionFolder) -> None:
    folder.columns = COLUMNS.replace('"chair"', '"stool"')
    folder.add_sinusoid("turned")
    folder.write_file("rest.csv", as_csv(sinusoid_trace()))
    folder.add_trial('id = "rest"', 'kind = "spontaneous"', 'file = "rest.csv"')
    session = read_session(folder.write())
    assert [problem.code for problem in session.problems] == ["unknown_column"]
    assert not is_read(session, "turned")
    assert is_read(session, "rest")


def test_an_unknown_unit_names_its_line_and_the_units_known(sound: SessionFolder) -> None:
    sound.columns = COLUMNS.replace('"Rx", unit = "deg"', '"Rx", unit = "furlong"')
    problem = the_one_problem(read_session(sound.write()), "unknown_unit")
    assert (problem.file, problem.found) == ("session.toml", "furlong")
    assert problem.line == sound.line_of("furlong")
    assert problem.expected is not None
    assert "arcmin" in problem.expected


@pytest.mark.parametrize("unit", ["px", "V", "mV", "uV"])
def test_a_unit_that_says_nothing_of_degrees_needs_a_scale(sound: SessionFolder, unit: str) -> None:
    right = f'"Rx", unit = "{unit}"'
    sound.columns = COLUMNS.replace('"Rx", unit = "deg"', right)
    problem = the_one_problem(read_session(sound.write()), "not_in_degrees")
    assert problem.key == "eye_h_right"
    sound.columns = COLUMNS.replace('"Rx", unit = "deg"', f"{right}, scale = 2.0")
    recording = read_session(sound.write()).trials[0].recording
    assert recording is not None
    right_eye, left_eye = recording.channels["eye_h_right"], recording.channels["eye_h_left"]
    assert right_eye.std() == pytest.approx(2 * left_eye.std(), rel=0.01)


def test_text_in_a_number_column_names_file_and_line(sound: SessionFolder) -> None:
    lines = as_csv(sinusoid_trace()).splitlines()
    cells = lines[500].split(",")
    lines[500] = ",".join((*cells[:2], "oops", *cells[3:]))
    sound.add_sinusoid("typed", content="\n".join(lines) + "\n")
    session = read_session(sound.write())
    problem = the_one_problem(session, "text_in_number_column")
    assert (problem.file, problem.line) == ("trials/typed.csv", 501)
    assert (problem.found, problem.expected) == ("oops", "a number")
    assert not is_read(session, "typed")


def test_text_in_one_part_of_a_long_export_leaves_the_other_parts(folder: SessionFolder) -> None:
    lines = as_csv(sinusoid_trace(duration_s=50)).splitlines()
    lines[3000] = lines[3000].rsplit(",", 1)[0] + ",oops"
    content = "\n".join(lines) + "\n"
    folder.add_sinusoid("sound", "stop_s = 24.99", content=content, file="long.csv")
    folder.add_sinusoid("typed", "start_s = 25", content=content, file="long.csv")
    session = read_session(folder.write())
    problem = the_one_problem(session, "text_in_number_column")
    assert (problem.trial, problem.line) == ("typed", 3001)


def test_no_usable_eye_is_said(sound: SessionFolder) -> None:
    trace = sinusoid_trace()
    for name in ("Rx", "Lx"):
        trace[name][:] = float("nan")
    sound.add_sinusoid("blind", content=as_csv(trace))
    session = read_session(sound.write())
    assert the_one_problem(session, "no_usable_eye").trial == "blind"
    assert not is_read(session, "blind")


def test_the_eye_that_the_trial_names_must_be_usable(sound: SessionFolder) -> None:
    trace = sinusoid_trace()
    trace["Rx"][:] = float("nan")
    sound.add_sinusoid("blind", 'eye = "right"', content=as_csv(trace))
    assert the_one_problem(read_session(sound.write()), "no_usable_eye").trial == "blind"


def test_a_head_trace_of_another_frequency_contradicts(sound: SessionFolder) -> None:
    sound.add_sinusoid("other", content=as_csv(sinusoid_trace(frequency_hz=0.08)))
    session = read_session(sound.write())
    problem = the_one_problem(session, "stimulus_contradicts")
    assert (problem.trial, problem.key) == ("other", "frequency_hz")
    assert problem.found is not None
    assert "0.08" in problem.found
    assert not is_read(session, "other")


def add_step(folder: SessionFolder, *, direction: str, velocity_deg_s: float) -> None:
    folder.write_file("step.csv", as_csv(step_trace(velocity_deg_s=velocity_deg_s)))
    keys = ('id = "step"', 'kind = "step"', 'file = "step.csv"', 'vision = "dark"')
    folder.add_trial(*keys, f'direction = "{direction}"', "velocity_deg_s = 100")


def test_a_spin_to_the_other_side_contradicts(sound: SessionFolder) -> None:
    add_step(sound, direction="left", velocity_deg_s=100)
    problem = the_one_problem(read_session(sound.write()), "stimulus_contradicts")
    assert (problem.trial, problem.key) == ("step", "direction")
    assert problem.found == "a spin to the right"


def test_a_chair_that_never_moves_contradicts(sound: SessionFolder) -> None:
    add_step(sound, direction="right", velocity_deg_s=0)
    problem = the_one_problem(read_session(sound.write()), "stimulus_contradicts")
    assert problem.found is not None
    assert "rest" in problem.found


@pytest.mark.parametrize("reached", [80.0, 120.0])
def test_another_peak_is_only_a_reason(sound: SessionFolder, reached: float) -> None:
    add_step(sound, direction="right", velocity_deg_s=reached)
    trace = sinusoid_trace(peak_velocity_deg_s=0.6 * reached)
    sound.add_sinusoid("slow", content=as_csv(trace))
    session = read_session(sound.write())
    assert session.problems == ()
    whys = [trial.recording.why for trial in session.trials if trial.recording]
    assert whys == [(), ("stimulus_differs",), ("stimulus_differs",)]


def test_a_second_trial_of_the_same_id_is_refused(sound: SessionFolder) -> None:
    sound.add_sinusoid("sound")
    session = read_session(sound.write())
    problem = the_one_problem(session, "duplicate_trial_id")
    assert (problem.trial, problem.key) == ("sound", "id")
    assert problem.line == sound.text().count("\n", 0, sound.text().rindex('id = "sound"')) + 1
    assert len({trial.id for trial in session.trials}) == 2


def test_a_file_of_no_bytes_is_said(sound: SessionFolder) -> None:
    sound.add_sinusoid("void", content=b"")
    problem = the_one_problem(read_session(sound.write()), "empty_file")
    assert (problem.trial, problem.file) == ("void", "trials/void.csv")
    assert problem.found == "0 bytes"


def test_a_cut_file_is_used_to_its_last_whole_row(sound: SessionFolder) -> None:
    whole = as_csv(sinusoid_trace())
    sound.add_sinusoid("cut", content=whole[: whole.rindex("\n", 0, -1) + 20])
    session = read_session(sound.write())
    problem = the_one_problem(session, "truncated_file")
    assert (problem.file, problem.line) == ("trials/cut.csv", 2501)
    recording = session.trials[1].recording
    assert recording is not None
    assert recording.time_s.size == 2499


@pytest.mark.parametrize("missing", range(1, 40))
def test_a_cut_anywhere_in_the_last_row_is_noticed_unless_only_the_line_end_is_gone(
    sound: SessionFolder, missing: int
) -> None:
    whole = as_csv(sinusoid_trace())
    last_row = whole.splitlines()[-1]
    sound.add_sinusoid("cut", content=whole[: len(whole) - missing])
    session = read_session(sound.write())
    recording = session.trials[1].recording
    assert recording is not None
    if 1 < missing < len(last_row) + 1:
        assert the_one_problem(session, "truncated_file").line == 2501
        assert recording.time_s.size == 2499
    else:
        assert session.problems == ()


@pytest.mark.parametrize("file", ["../outside.csv", "/etc/hostname", "trials/../../outside.csv"])
def test_a_path_that_leaves_the_folder_is_not_opened(sound: SessionFolder, file: str) -> None:
    (sound.path.parent / "outside.csv").write_text(as_csv(sinusoid_trace()))
    sound.add_trial('id = "spy"', 'kind = "spontaneous"', f'file = "{file}"')
    session = read_session(sound.write())
    problem = the_one_problem(session, "file_outside_session")
    assert (problem.trial, problem.found) == ("spy", file)
    assert problem.line == sound.line_of(file)
    assert not is_read(session, "spy")


def test_a_link_that_leaves_the_folder_is_not_followed(sound: SessionFolder) -> None:
    (sound.path.parent / "outside.csv").write_text(as_csv(sinusoid_trace()))
    os.symlink(sound.path.parent / "outside.csv", sound.path / "link.csv")
    sound.add_trial('id = "spy"', 'kind = "spontaneous"', 'file = "link.csv"')
    assert the_one_problem(read_session(sound.write()), "file_outside_session").trial == "spy"


@pytest.mark.parametrize("age", ["-3", "131", "1e9"])
def test_an_impossible_age_is_left_out(sound: SessionFolder, age: str) -> None:
    sound.head = sound.head.replace("age_years = 57", f"age_years = {age}")
    session = read_session(sound.write())
    problem = the_one_problem(session, "impossible_age")
    assert problem.line == sound.line_of("age_years")
    assert session.patient.age_years is None


def test_a_birth_after_the_test_is_impossible(sound: SessionFolder) -> None:
    sound.head = sound.head.replace("age_years = 57", "birth_date = 2027-01-01")
    assert the_one_problem(read_session(sound.write()), "impossible_age").key == "birth_date"


def test_a_birth_date_makes_the_age_at_the_test(sound: SessionFolder) -> None:
    sound.head = sound.head.replace("age_years = 57", "birth_date = 1968-03-03")
    assert read_session(sound.write()).patient.age_years == 57  # the day before turning 58
    sound.head = sound.head.replace("1968-03-03", "1968-03-02")
    assert read_session(sound.write()).patient.age_years == 58  # on the birthday


@pytest.mark.parametrize("day", ["1850-03-02", "2026-02-30", '"yesterday"', "3026-03-02", "17"])
def test_an_impossible_date_is_said(sound: SessionFolder, day: str) -> None:
    sound.head = sound.head.replace("2026-03-02", day)
    problem = the_one_problem(read_session(sound.write()), "impossible_date")
    assert problem.line == sound.line_of(f"date = {day}")


def test_a_missing_folder_or_session_file_is_unusable(tmp_path: Path) -> None:
    for place in (tmp_path / "nowhere", tmp_path):
        with pytest.raises(InputError) as caught:
            read_session(place)
        assert caught.value.problems[0].code == "missing_session_file"


def test_an_invalid_session_file_names_the_line(sound: SessionFolder) -> None:
    sound.head = sound.head.replace('code = "K-0417"', "code = K-0417")
    with pytest.raises(InputError) as caught:
        read_session(sound.write())
    problem = caught.value.problems[0]
    assert (problem.code, problem.file) == ("invalid_session_file", "session.toml")
    assert problem.line == sound.line_of("code = ")


def test_a_session_without_a_usable_trial_is_unusable_and_lists_every_problem(
    folder: SessionFolder,
) -> None:
    folder.add_sinusoid("void", content=b"")
    folder.add_sinusoid("text", content=b"not a trace at all\n" * 20)
    with pytest.raises(InputError) as caught:
        read_session(folder.write())
    assert [problem.code for problem in caught.value.problems] == ["empty_file", "not_a_trace"]


def test_a_session_without_trials_is_unusable(folder: SessionFolder) -> None:
    with pytest.raises(InputError) as caught:
        read_session(folder.write())
    assert caught.value.problems[0].code == "no_trials"


def test_a_schema_of_the_future_is_unusable(sound: SessionFolder) -> None:
    sound.head = sound.head.replace("schema = 1", "schema = 2")
    with pytest.raises(InputError) as caught:
        read_session(sound.write())
    assert caught.value.problems[0].code == "unknown_schema"


def test_all_problems_of_a_session_come_in_one_run(sound: SessionFolder) -> None:
    sound.add_sinusoid("void", content=b"")
    sound.add_sinusoid("gone")
    (sound.path / "trials/gone.csv").unlink()
    sound.add_sinusoid("other", content=as_csv(sinusoid_trace(frequency_hz=0.08)))
    sound.add_trial('id = "odd"', 'kind = "sinusiod"', 'file = "trials/sound.csv"')
    session = read_session(sound.write())
    codes = [problem.code for problem in session.problems]
    assert codes == ["unknown_kind", "empty_file", "missing_file", "stimulus_contradicts"]
    assert [trial.id for trial in session.trials if trial.recording] == ["sound"]


def test_one_column_cannot_be_two_eyes(folder: SessionFolder) -> None:
    folder.columns = COLUMNS.replace('"Lx"', '"Rx"')
    folder.add_sinusoid("sound")
    folder.add_sinusoid("second")
    problem = the_one_problem(read_session(folder.write()), "shared_column")
    assert problem.key == "eye_h_left"
    assert '"second"' in problem.message


@pytest.mark.parametrize("delimiter", [",", " ", ";"])
def test_a_row_number_without_a_name_shifts_no_column(sound: SessionFolder, delimiter: str) -> None:
    lines = as_csv(sinusoid_trace(), delimiter=delimiter).splitlines()
    numbered = [f"{number}{delimiter}{line}" for number, line in enumerate(lines[1:], start=1)]
    sound.add_sinusoid("shifted", content="\n".join([lines[0], *numbered]) + "\n")
    problem = the_one_problem(read_session(sound.write()), "header_too_short")
    assert problem.found == "6 names, 7 columns"
    assert problem.line == 1


def test_a_decimal_comma_between_commas_is_refused(sound: SessionFolder) -> None:
    sound.add_sinusoid("commas", content=as_csv(sinusoid_trace()).replace(".", ","))
    the_one_problem(read_session(sound.write()), "header_too_short")


def test_an_empty_column_behind_the_last_name_is_no_fault(folder: SessionFolder) -> None:
    header, _, samples = as_csv(sinusoid_trace()).partition("\n")
    folder.add_sinusoid("sound", content=header + "\n" + samples.replace("\n", ",\n"))
    assert read_session(folder.write()).problems == ()


def test_a_session_file_that_is_a_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "session.toml")
    with pytest.raises(InputError) as caught:
        read_session(tmp_path)
    assert [problem.code for problem in caught.value.problems] == ["missing_session_file"]
