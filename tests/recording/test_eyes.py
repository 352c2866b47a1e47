import numpy as np
import pytest

from slowphase.recording.eyes import is_alive

TIME_S = np.arange(20_000) / 1000.0


def test_an_eye_in_coarse_steps_is_alive():
    assert is_alive(np.round(3.0 * TIME_S, 1))


@pytest.mark.parametrize("held", [4, 20, 50])
def test_frames_held_over_many_samples_are_an_eye(held):
    frames = np.random.default_rng(0).normal(0, 1, TIME_S.size // held)
    assert is_alive(np.repeat(frames, held))


def test_one_value_throughout_is_no_eye():
    assert not is_alive(np.full(1000, 2.5))
    assert not is_alive(np.r_[np.random.default_rng(0).normal(0, 1, 100), np.full(900, 2.5)])


def test_a_handful_of_samples_is_no_eye():
    assert not is_alive(np.r_[np.arange(8.0), np.full(1000, np.nan)])
