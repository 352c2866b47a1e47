"""slowphase simulate: a whole session folder with its truth, or nothing."""

import json
import math
import signal
import subprocess
import sys
import time

import pytest
from command_line import start

import slowphase
from slowphase.cli import simulated_folder
from slowphase.cli.scenario_files import shipped, shipped_names
from slowphase.recording.read import read_session

SHORT = """
about = "two short trials"
seed = 3
[person]
right = 0.5
[equipment]
sampling_hz = 100
[protocol]
frequencies_hz = [0.32]
"""
DROPPED = ("spontaneous-light", "fix-0.04", "fix-0.32", "step-right", "step-left")


@pytest.fixture
def scenario(tmp_path):
    file = tmp_path / "mine.toml"
    drops = "".join(f'[[trial]]\nid = "{name}"\ndrop = true\n' for name in DROPPED)
    file.write_text(SHORT + drops, encoding="utf-8")
    return file


def _bytes(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def _numbers(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [number for entry in value for number in _numbers(entry)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("name", shipped_names())
def test_every_shipped_scenario_is_simulated_and_read_back_without_a_problem(name, tmp_path):
    done = start("simulate", name, "-o", tmp_path / "out")
    assert done.exit_code == 0
    assert done.stdout.strip() == str(tmp_path / "out")
    session = read_session(tmp_path / "out")
    assert session.problems == ()
    truth = json.loads((tmp_path / "out" / "truth.json").read_text("utf-8"))
    assert truth["about"] == shipped(name)["about"]
    assert [trial["id"] for trial in truth["trials"]] == [trial.id for trial in session.trials]
    for true, read in zip(truth["trials"], session.trials, strict=True):
        assert true["kind"] == read.kind
        assert EXPECTED[read.kind] <= set(true["measures"])
        onset_s = true["quick_phases"]["onset_s"]
        assert onset_s == sorted(onset_s)
        assert onset_s[-1] <= read.recording.time_s[-1] + 1 / read.recording.sampling_hz
        assert len({len(entry) for entry in true["quick_phases"].values()}) == 1
    assert all(math.isfinite(number) for number in _numbers(truth))


EXPECTED = {
    "spontaneous": {"horizontal/velocity", "vertical/velocity"},
    "sinusoid": {"gain", "phase", "bias", "offset", "gain_right", "gain_left", "asymmetry"},
    "calibration": set(),
    "gaze": {"horizontal/velocity", "vertical/velocity", "gaze", "gaze_slope"},
    "saccade": {"latency", "accuracy", "peak_velocity"},
    "pursuit": {"gain", "phase"},
    "optokinetic": {"gain", "after/velocity", "after/time_constant"},
    "caloric": {"velocity", "response", "fixation_index"},
    "impulse": {"right/gain", "left/gain"},
    "head-shaking": {"after/velocity", "after/time_constant"},
    "step": {"per/gain", "per/time_constant", "post/gain", "post/time_constant", "bias"},
}


def test_a_full_session_has_every_kind_with_its_keys(tmp_path):
    start("simulate", "parting-ways", "-o", tmp_path / "out")
    session = read_session(tmp_path / "out")
    stimuli = {trial.kind: dict(trial.stimulus) for trial in session.trials}
    assert set(stimuli) == set(EXPECTED)
    assert set(stimuli["caloric"]) >= {"ear", "temperature_c", "medium", "fixation_s"}
    assert set(stimuli["pursuit"]) == {"frequency_hz", "peak_velocity_deg_s", "amplitude_deg"}
    assert set(stimuli["optokinetic"]) == {"velocity_deg_s", "direction", "moving_s"}
    assert stimuli["impulse"] == {"plane": "horizontal"}
    assert abs(stimuli["gaze"]["eccentricity_deg"]) == 20
    truth = json.loads((tmp_path / "out" / "truth.json").read_text("utf-8"))
    assert truth["session"]["unilateral_weakness"] > 40.0  # the left ear answers less
    (impulses,) = (trial for trial in truth["trials"] if trial["kind"] == "impulse")
    assert len(impulses["events"]["onset_s"]) == 20


def test_an_analysis_of_an_acute_loss_finds_its_truth(tmp_path):
    start("simulate", "acute-right", "-o", tmp_path / "out")
    analysis = slowphase.analyze(read_session(tmp_path / "out"))
    document = json.loads((tmp_path / "out" / "truth.json").read_text("utf-8"))
    truth = {trial["id"]: trial["measures"] for trial in document["trials"]}
    compared = 0
    for trial in analysis.trials:
        if trial.kind not in ("sinusoid", "step") or trial.id.startswith("fix"):
            continue
        for measure in trial.measures:
            key = "/".join(part for part in (measure.of, measure.name) if part)
            if measure.name in TOLERANCES and truth[trial.id].get(key) is not None:
                error = TOLERANCES[measure.name](measure.value, truth[trial.id][key])
                assert error < 1.0, (trial.id, key)
                compared += 1
    assert compared >= 30


TOLERANCES = {
    "gain": lambda found, true: abs(found / true - 1.0) / 0.08,
    "phase": lambda found, true: abs(found - true) / 4.0,
    "bias": lambda found, true: abs(found - true) / 1.0,
    "time_constant": lambda found, true: abs(found / true - 1.0) / 0.1,
}


def test_the_same_scenario_gives_the_same_bytes_and_another_seed_others(scenario, tmp_path):
    for name in ("one", "two"):
        assert start("simulate", scenario, "-o", tmp_path / name).exit_code == 0
    assert start("simulate", scenario, "-o", tmp_path / "three", "--seed", 4).exit_code == 0
    one, two, three = (_bytes(tmp_path / name) for name in ("one", "two", "three"))
    assert one == two
    assert one.keys() == three.keys()
    assert one != three


def test_truth_holds_the_parameters_and_the_times_of_quick_phases(scenario, tmp_path):
    start("simulate", scenario, "-o", tmp_path / "out")
    truth = json.loads((tmp_path / "out" / "truth.json").read_text("utf-8"))
    assert truth["person"]["reflex"]["right"]["gain"] < truth["person"]["reflex"]["left"]["gain"]
    assert truth["equipment"]["sampling_hz"] == 100
    assert len(truth["trials"][0]["quick_phases"]["onset_s"]) > 20
    assert sorted(truth["files"]) == sorted(
        p.as_posix() for p in _bytes(tmp_path / "out") if p.name != "truth.json"
    )


def test_the_list_names_every_shipped_scenario_with_a_line():
    lines = start("simulate", "--list").stdout.splitlines()
    assert [line.split()[0] for line in lines] == list(shipped_names())
    assert all(len(line.split()) > 4 for line in lines)


def test_an_earlier_simulation_is_replaced(scenario, tmp_path):
    start("simulate", scenario, "-o", tmp_path / "out")
    first = _bytes(tmp_path / "out")
    assert start("simulate", scenario, "-o", tmp_path / "out", "--seed", 9).exit_code == 0
    assert _bytes(tmp_path / "out") != first
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine.toml", "out"]


@pytest.mark.parametrize("simulated_before", [True, False])
def test_a_folder_with_something_else_in_it_is_left_alone(scenario, tmp_path, simulated_before):
    out = tmp_path / "out"
    if simulated_before:
        start("simulate", scenario, "-o", out)
    out.mkdir(exist_ok=True)
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    before = _bytes(out)
    done = start("simulate", scenario, "-o", out)
    assert done.exit_code == 2
    assert "it holds notes.txt" in done.stderr
    assert _bytes(out) == before


def test_the_folder_one_is_in_is_not_replaced(scenario, tmp_path, monkeypatch):
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path / "empty")
    done = start("simulate", scenario, "-o", ".")
    assert done.exit_code == 2
    assert "the folder you are in" in done.stderr
    assert start("simulate", scenario).stdout.strip() == "mine"
    assert (tmp_path / "empty" / "mine" / "session.toml").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
def test_an_interrupt_from_outside_leaves_nothing_behind(tmp_path):
    command = [sys.executable, "-m", "slowphase", "simulate", "parting-ways", "-o", "out"]
    process = subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.DEVNULL)
    while process.poll() is None and not list(tmp_path.iterdir()):
        time.sleep(0.005)
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=60) == 130
    assert list(tmp_path.iterdir()) == []


def test_a_real_session_folder_is_left_alone(scenario, tmp_path):
    start("simulate", scenario, "-o", tmp_path / "out")
    (tmp_path / "out" / "truth.json").unlink()
    assert start("simulate", scenario, "-o", tmp_path / "out").exit_code == 2


@pytest.mark.parametrize("stop", [KeyboardInterrupt, OSError(28, "No space left on device")])
def test_a_run_that_is_stopped_leaves_no_half_folder(scenario, tmp_path, monkeypatch, stop):
    def write_session(session, folder, *, layout):
        (folder / "session.toml").write_text("half", encoding="utf-8")
        raise stop

    monkeypatch.setattr(simulated_folder, "write_session", write_session)
    done = start("simulate", scenario, "-o", tmp_path / "out")
    assert done.exit_code == (130 if stop is KeyboardInterrupt else 2)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.toml"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[person]\nrigth = 0.5", "mine.toml: unknown 'rigth' in person (did you mean 'right'?)"),
        ("[person]\nright = 2", "mine.toml: person.right = 2: allowed is 0 to 1"),
        ("person = [", "mine.toml is no TOML"),
        ("[patient]\nsex = 3", "mine.toml: patient.sex = 3: expected one of"),
        ("[session]\nday = 3", "mine.toml: unknown 'day' in session"),
        ("[layout]\ndelimeter = 3", "mine.toml: unknown 'delimeter' in layout"),
    ],
)
def test_a_wrong_scenario_ends_with_one_line_that_names_file_and_key(tmp_path, text, said):
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    done = start("simulate", file, "-o", tmp_path / "out")
    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_a_name_that_is_not_shipped_is_answered_with_those_that_are(tmp_path):
    said = start("simulate", "healthy", "-o", tmp_path / "out").stderr
    assert "no shipped scenario is called 'healthy'" in said
    assert all(name in said for name in shipped_names())
    assert "cannot be read" in start("simulate", tmp_path / "none.toml").stderr
    assert "name a scenario" in start("simulate").stderr


def test_every_shipped_scenario_says_that_it_is_invented(tmp_path):
    for name in shipped_names():
        indication = shipped(name).get("session", {}).get("indication", "invented")
        assert "invented" in indication
