"""The check of chair and recorder against motions of known delay, noise, slip and velocity."""

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

import slowphase
from slowphase.cli import kept_rows
from slowphase.cli.app import main
from slowphase.cli.kept_checks import delay_s, keep, kept
from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.errors import UsageError
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.scenario import run, scenario_from
from slowphase.recording.session import Patient
from slowphase.recording.trial import Recording, Trial


def recorded(*, fixed_to, frequency=0.32, peak=20.0, delivered=1.0, late_s=0.0, noise=0.02,
             seen=0.0, gain=1.0, head_noise=0.05, cycles=6, rate=200.0, seed=1):  # fmt: skip
    """An independent generator: closed forms of position and velocity, a delay and white noise."""
    rng = np.random.default_rng(seed)
    time = np.arange(int((cycles / frequency + 4.0) * rate)) / rate
    omega = 2 * np.pi * frequency
    inside = (time > 2.0) & (time < 2.0 + cycles / frequency)
    head = delivered * peak * np.sin(omega * (time - 2.0)) * inside
    at = np.clip(time - late_s - 2.0, 0.0, cycles / frequency)
    place = delivered * peak / omega * (1.0 - np.cos(omega * at))
    share = -gain if fixed_to == "room" else seen
    eye = share * place + rng.normal(0.0, noise, time.size)
    head = head + rng.normal(0.0, head_noise, time.size)
    recording = Recording(time, rate, {"eye_h_right": eye}, head, "measured")
    keys = {"eye_fixed_to": fixed_to, "frequency_hz": frequency, "peak_velocity_deg_s": peak}
    return Trial("check", "check", stimulus=keys, recording=recording)


def measured(trial):
    result = measure_trial(trial, EyeSettings(), MeasureSettings())
    return result, {measure.id.removeprefix(f"{trial.id}/"): measure for measure in result.measures}


@pytest.mark.parametrize("late_s", [-0.012, 0.0, 0.0085, 0.03])
@pytest.mark.parametrize("frequency", [0.16, 0.64])
def test_a_delay_comes_back_within_half_a_millisecond_and_its_interval(late_s, frequency):
    peak = 2 * np.pi * frequency * 10.0
    _, found = measured(recorded(fixed_to="room", frequency=frequency, peak=peak, late_s=late_s))
    delay = found["right/delay"]
    assert delay.value == pytest.approx(1e3 * late_s, abs=0.5)
    assert delay.low - 0.3 < 1e3 * late_s < delay.high + 0.3
    assert ("late_eye_channel" in delay.why) == (late_s == 0.03)
    assert found["right/eye_gain"].value == pytest.approx(1.0, abs=0.003)


def test_what_the_chair_delivers_is_said_in_percent_of_what_was_asked():
    _, found = measured(recorded(fixed_to="head", delivered=0.9))
    assert found["delivered"].value == pytest.approx(90.0, abs=0.5)
    assert found["delivered"].why == ("chair_differs",)
    _, right = measured(recorded(fixed_to="head", head_noise=0.3))
    assert right["delivered"].why == ()
    assert right["chair_noise"].value == pytest.approx(0.3, rel=0.1)


def test_a_head_fixed_eye_shows_only_the_recorder():
    result, found = measured(recorded(fixed_to="head", noise=0.05))
    assert found["right/noise"].value == pytest.approx(0.05, rel=0.1)
    assert found["right/eye_movement"].value == pytest.approx(0.0, abs=0.5)
    assert result.quality.grade == "sound"


def test_a_recorder_that_slips_noise_and_losses_have_their_reasons():
    _, found = measured(recorded(fixed_to="head", seen=0.08, noise=0.4))
    assert found["right/eye_movement"].value == pytest.approx(8.0, abs=1.0)
    assert "eye_sees_chair" in found["right/eye_movement"].why
    assert "noisy_trace" in found["right/noise"].why
    trial = recorded(fixed_to="head")
    eye = trial.recording.channels["eye_h_right"].copy()
    eye[::10] = np.nan
    lossy = replace(trial, recording=replace(trial.recording, channels={"eye_h_right": eye}))
    assert "tracker_loses" in measured(lossy)[1]["right/lost"].why


def test_a_calibration_error_is_the_gain_of_a_room_fixed_eye():
    _, found = measured(recorded(fixed_to="room", gain=1.2))
    assert found["right/eye_gain"].value == pytest.approx(1.2, abs=0.005)


def test_a_check_of_two_cycles_or_without_the_chair_has_no_numbers_and_says_why():
    _, short = measured(recorded(fixed_to="room", cycles=2))
    assert short["right/delay"].value is None
    assert "too_short" in short["right/delay"].why
    trial = recorded(fixed_to="room")
    blind = replace(trial, recording=replace(trial.recording, head_velocity_deg_s=None))
    result, found = measured(blind)
    assert result.quality.why == ("no_head_motion",)
    assert found["delivered"].value is None


def check_session(late_s, day):
    table = {"seed": 4, "protocol": {"trials": "check"}, "equipment": {"head_late_s": -late_s}}
    trials = run(scenario_from(table))
    return session_from(trials, Patient(code="EYE"), day)


def test_a_simulated_check_gives_one_delay_over_all_trials_and_eyes():
    analysis = slowphase.analyze(check_session(0.012, date(2026, 3, 1)))
    (group,) = analysis.groups
    (delay,) = group.measures
    assert delay.id == "check/delay"
    assert delay.value == pytest.approx(12.0, abs=0.5)
    assert delay.low < 12.0 < delay.high


def test_an_applied_delay_gives_the_phases_of_a_session_without_one():
    table = {"seed": 5, "trial": [{"id": f"sin-{f:g}", "drop": True} for f in (0.01, 0.02)]}
    late = table | {"equipment": {"head_late_s": -0.02}}
    plain, spoilt = (session_from(run(scenario_from(t)), Patient(code="X"), None)
                     for t in (table, late))  # fmt: skip
    mended = slowphase.with_eye_delay(spoilt, 0.02)

    def phase(session):
        measures = {m.id: m for m in slowphase.analyze(session).measures()}
        return measures["sin-0.64/phase"]

    assert abs(phase(spoilt).value - phase(plain).value) > 3.0
    assert phase(mended).value == pytest.approx(phase(plain).value, abs=0.4)
    assert "delay_applied" in phase(mended).why
    assert mended.conditions["eye_late_ms"] == 20.0


def run_command(*words):
    with pytest.raises(SystemExit) as stopped:
        main([str(word) for word in words])
    return stopped.value.code


def test_checks_are_kept_with_their_date_and_the_last_one_is_applied(tmp_path, capsys):
    file = tmp_path / "checks.csv"
    for day, late_s in (("2026-03-01", 0.005), ("2026-03-08", 0.015)):
        folder = tmp_path / day
        slowphase.write_session(check_session(late_s, date.fromisoformat(day)), folder)
        assert run_command("check", folder, "--keep", file) == 0
    said = capsys.readouterr().err
    assert "check/delay" in said
    assert "on 2026-03-01" in said
    assert delay_s(file, date(2026, 3, 7)) == pytest.approx(0.005, abs=5e-4)
    assert delay_s(file, None) == pytest.approx(0.015, abs=5e-4)
    rows = len(kept(file))
    assert run_command("check", tmp_path / "2026-03-08", "--keep", file) == 0
    assert len(kept(file)) == rows
    with pytest.raises(UsageError, match="no delay up to 2026-01-01"):
        delay_s(file, date(2026, 1, 1))


def test_a_file_of_another_kind_is_refused_and_left_as_it_is(tmp_path):
    file = tmp_path / "other.csv"
    file.write_text("a,b\n1,2\n", encoding="utf-8")
    folder = tmp_path / "check"
    slowphase.write_session(check_session(0.0, date(2026, 3, 1)), folder)
    assert run_command("check", folder, "--keep", file) == 2
    assert file.read_text(encoding="utf-8") == "a,b\n1,2\n"


def with_conditions(session, **conditions):
    return replace(session, conditions={**session.conditions, **conditions})


def test_each_recorder_has_its_own_delay_and_the_last_check_of_a_day_counts(tmp_path):
    file, day = tmp_path / "checks.csv", date(2026, 3, 1)
    for recorder, late_s in (("one", 0.005), ("two", 0.03), ("one", 0.012)):
        session = with_conditions(check_session(late_s, day), recorder=recorder)
        analysis = slowphase.analyze(replace(session, input_digest=f"{recorder}{late_s}"))
        keep(analysis, file)
    assert delay_s(file, day, "one") == pytest.approx(0.012, abs=5e-4)
    assert delay_s(file, day, "two") == pytest.approx(0.03, abs=5e-4)
    with pytest.raises(UsageError, match="checks of 2 recorders"):
        delay_s(file, day)


def test_nothing_of_a_patient_goes_into_the_clinic_s_file(tmp_path):
    session = check_session(0.01, date(2026, 3, 1))
    score = Trial("score", "values", stimulus={"test": "handicap", "scale": "s", "score": 44,
                                               "score_max": 100})  # fmt: skip
    analysis = slowphase.analyze(replace(session, trials=(*session.trials, score)))
    keep(analysis, tmp_path / "checks.csv")
    assert {row["measure"].split("/")[0] for row in kept(tmp_path / "checks.csv")} == {
        "check", *(trial.id for trial in session.trials),
    }  # fmt: skip


def test_a_delay_that_is_no_number_is_said_in_one_line(tmp_path):
    file = tmp_path / "checks.csv"
    keep(slowphase.analyze(check_session(0.01, date(2026, 3, 1))), file)
    lines = file.read_text(encoding="utf-8").splitlines()
    spoilt = [re.sub(r"^(.*check/delay,)[^,]*", r"\1ten", line) for line in lines]
    file.write_text("\n".join(spoilt) + "\n", encoding="utf-8")
    with pytest.raises(UsageError, match="'ten', expected a number of ms"):
        delay_s(file, None)


@pytest.fixture(scope="module")
def kept_text(tmp_path_factory):
    file = tmp_path_factory.mktemp("kept") / "checks.csv"
    keep(slowphase.analyze(check_session(0.01, date(2026, 3, 1))), file)
    return file.read_text(encoding="utf-8")


def with_cell(text, field, value):
    """The file with another text in one cell of the delay of all trials."""
    place = kept_rows.FIELDS.index(field)
    lines = [line.split(",") for line in text.splitlines()]
    for cells in lines:
        if cells[2] == "check/delay":
            cells[place] = value
    return "\n".join(map(",".join, lines)) + "\n"


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("value", "10;2", "the value '10;2', expected a number of ms"),
        ("value", "inf", "the value 'inf'"),
        ("value", "nan", "the value 'nan'"),
        ("low", "abc", "the low 'abc'"),
        ("low", "90", "the interval 90 to"),
        ("value", "10,2", "10 cells, expected 9"),
        ("date", "01.12.2030", "the date '01.12.2030', expected year-month-day"),
        ("date", "20260301", "the date '20260301'"),
        ("grade", "good", "the grade 'good', expected one of sound"),
        ("unit", "s", "a delay in 's', expected ms"),
    ],
)
def test_an_altered_row_is_refused_with_its_line(tmp_path, kept_text, field, value, said):
    file = tmp_path / "checks.csv"
    file.write_text(with_cell(kept_text, field, value), encoding="utf-8")
    number = 1 + [",check/delay," in line for line in kept_text.splitlines()].index(True)
    with pytest.raises(UsageError, match=said) as refused:
        delay_s(file, None)
    assert f"{file}, line {number}: " in str(refused.value)


def test_a_delay_that_no_recorder_has_is_refused(tmp_path, kept_text):
    file, text = tmp_path / "checks.csv", kept_text
    for field in ("low", "high"):
        text = with_cell(text, field, "")
    file.write_text(with_cell(text, "value", "90000"), encoding="utf-8")
    with pytest.raises(UsageError, match="a delay of 90000 ms, expected -500 to 500 ms"):
        delay_s(file, None)


def test_a_file_that_was_cut_or_has_a_byte_order_mark(tmp_path, kept_text):
    file = tmp_path / "checks.csv"
    file.write_text("\ufeff" + kept_text, encoding="utf-8")
    assert delay_s(file, None) == pytest.approx(0.01, abs=5e-4)
    end = kept_text.rstrip().rindex(",") - 3
    file.write_text(kept_text[:end], encoding="utf-8")
    with pytest.raises(UsageError, match="cells, expected 9"):
        delay_s(file, None)


def test_an_unusable_delay_a_missing_file_and_a_missing_folder_are_said(tmp_path, kept_text):
    file = tmp_path / "checks.csv"
    with pytest.raises(UsageError, match="there is no file of checks"):
        delay_s(file, None)
    file.write_text(with_cell(kept_text, "grade", "unusable"), encoding="utf-8")
    with pytest.raises(UsageError, match="holds no delay"):
        delay_s(file, None)
    folder = tmp_path / "nowhere"
    with pytest.raises(UsageError, match="there is no folder"):
        keep(slowphase.analyze(check_session(0.01, date(2026, 3, 1))), folder / "checks.csv")
    assert not folder.exists()


@pytest.mark.parametrize("delay", [float("nan"), float("inf"), 90.0, -0.51])
def test_a_delay_that_cannot_be_is_refused_whoever_gives_it(delay):
    with pytest.raises(ValueError, match=r"expected -0\.5 to 0\.5 s"):
        slowphase.with_eye_delay(check_session(0.01, None), delay)


def with_head(trial, factor):
    recording = trial.recording
    head = factor * recording.head_velocity_deg_s
    return replace(trial, recording=replace(recording, head_velocity_deg_s=head))


@pytest.mark.parametrize("factor", [57.3, 6.0, 1 / 6.0, 0.3])
def test_a_chair_in_another_unit_gives_no_delay(factor):
    result, found = measured(with_head(recorded(fixed_to="room", late_s=0.01), factor))
    assert found["delivered"].grade == "unusable"
    assert "chair_scale_implausible" in found["delivered"].why
    assert found["right/delay"].value is None
    assert found["right/eye_gain"].grade == "unusable"
    assert result.quality.grade == "unusable"
    assert found["right/noise"].grade == "sound"


def test_a_chair_at_another_frequency_than_the_key_gives_nothing():
    trial = recorded(fixed_to="room", frequency=0.64, cycles=20)
    wrong = replace(trial, stimulus=dict(trial.stimulus) | {"frequency_hz": 0.5})
    result, found = measured(wrong)
    assert result.quality.why == ("chair_frequency_differs",)
    assert found["delay"].value is None


@pytest.mark.parametrize("lost", ["frequency_hz", "peak_velocity_deg_s"])
def test_a_check_without_its_keys_says_which_way_it_cannot_be_read(lost):
    trial = recorded(fixed_to="room")
    keys = {key: value for key, value in trial.stimulus.items() if key != lost}
    result, found = measured(replace(trial, stimulus=keys))
    assert result.quality.why == ("motion_not_told",)
    assert found["delivered"].value is None


def test_a_head_fixed_eye_that_is_called_fixed_in_the_room_gives_no_delay():
    trial = recorded(fixed_to="head", seen=0.0)
    _, found = measured(replace(trial, stimulus=dict(trial.stimulus) | {"eye_fixed_to": "room"}))
    assert found["right/eye_gain"].why == ("eye_not_in_room",)
    assert found["right/eye_gain"].grade == "unusable"
    assert found["right/delay"].value is None


def test_a_reversed_eye_gives_no_delay_of_half_a_cycle():
    _, found = measured(recorded(fixed_to="room", gain=-1.0))
    assert found["right/delay"].value is None
    assert found["right/delay"].why == ("wrong_way",)


@pytest.mark.parametrize(("gain", "said"), [(0.7, True), (0.9, False), (1.2, False), (1.5, True)])
def test_a_calibration_that_is_far_off_is_a_warning(gain, said):
    eye_gain = measured(recorded(fixed_to="room", gain=gain))[1]["right/eye_gain"]
    assert ("eye_gain_off" in eye_gain.why) == said
    assert eye_gain.grade == ("caution" if said else "sound")
