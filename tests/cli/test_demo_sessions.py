import pytest

from slowphase.cli.demo_sessions import PATIENTS, demo_session, demo_table, write_demo_sessions
from slowphase.physiology.scenario import scenario_from
from slowphase.recording.read import read_session

LARGEST_BYTES = 25_000_000


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    return write_demo_sessions(tmp_path_factory.mktemp("demo"))


def test_three_patients_are_read_back_without_a_problem(folders):
    sessions = [read_session(folder) for folder in folders]
    assert len(sessions) == 3
    for session in sessions:
        assert session.problems == ()
        assert len(session.trials) >= 13
        assert all(trial.recording is not None for trial in session.trials)


def test_the_same_bytes_come_every_time(folders, tmp_path):
    for first, second in zip(folders, write_demo_sessions(tmp_path), strict=True):
        for path in sorted(first.rglob("*.*")):
            assert path.read_bytes() == (second / path.relative_to(first)).read_bytes()


def test_no_folder_is_large(folders):
    for folder in folders:
        assert sum(path.stat().st_size for path in folder.rglob("*.*")) < LARGEST_BYTES


@pytest.mark.parametrize("name", PATIENTS)
def test_patients_are_plainly_invented(name):
    table = demo_table(name)
    assert table["patient"]["code"].startswith("DEMO-")
    assert "invented" in table["session"]["indication"]


def test_one_patient_had_a_trial_stopped_and_repeated():
    trials = {trial.id: trial for trial in demo_session(demo_table("one_sided")).trials}
    assert trials["sin-0.01"].outcome == "stopped"
    assert trials["sin-0.01-again"].repeat_of == "sin-0.01"


def test_one_patient_comes_in_another_format(folders):
    text = (folders[2] / "session.toml").read_text("utf-8")
    assert 'positive = "left"' in text
    header, row = (folders[2] / "trials" / "sin-0.04.csv").read_text("utf-8").split("\n")[:2]
    assert header.count(";") == row.count(";") == 3
    assert "," in row


def test_the_losses_are_on_the_sides_that_the_files_say():
    one_sided = scenario_from(demo_table("one_sided")).person
    assert one_sided.reflex.right.gain < one_sided.reflex.left.gain
    assert one_sided.spontaneous.bias_deg_s > 2.0  # slow phase toward the bad right side
    two_sided = scenario_from(demo_table("two_sided")).person
    assert max(two_sided.reflex.right.gain, two_sided.reflex.left.gain) < 0.4
