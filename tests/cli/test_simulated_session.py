import numpy as np
import pytest
import scenarios

from slowphase.recording.read import read_session
from slowphase.recording.write import write_session


@pytest.mark.parametrize("name", ["healthy-60", "one-eye", "no-head-channel", "uneven-clock"])
def test_a_session_in_memory_is_what_the_reader_makes_of_its_folder(name, tmp_path):
    session, _ = scenarios.scenario(name, 2)
    write_session(session, tmp_path)
    back = read_session(tmp_path)
    assert back.problems == ()
    for read, given in zip(back.trials, session.trials, strict=True):
        assert read.stimulus == given.stimulus
        assert read.recording.head_source == given.recording.head_source
        assert read.recording.why == given.recording.why
        assert read.recording.sampling_hz == pytest.approx(given.recording.sampling_hz, rel=1e-5)
        np.testing.assert_allclose(read.recording.time_s, given.recording.time_s, atol=1e-5)
        for role, trace in given.recording.channels.items():
            np.testing.assert_allclose(read.recording.channels[role], trace, atol=1e-3)


def test_a_rebuilt_head_is_the_chair_that_really_turned():
    session, truth = scenarios.scenario("no-head-channel", 2)
    moved = [trial for trial in session.trials if trial.kind != "spontaneous"]
    for trial in moved:
        real = truth[trial.id].head_velocity_deg_s
        np.testing.assert_allclose(trial.recording.head_velocity_deg_s, real, atol=0.5)
