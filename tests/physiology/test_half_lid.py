from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.half_lid import HalfLids
from tests.physiology.hard_trial import CLEAN, changes, recorded

LIDS = HalfLids(per_min=8.0, lasting_s=4.0, down_deg=3.0, noise_times=5.0)


def test_half_closed_lids_push_the_vertical_trace_down_and_lose_nothing():
    lids = replace(CLEAN, half_lids=LIDS)
    added, trial = changes(lids), recorded(lids)
    bad, down = trial.truth.bad["right"], added["eye_v_right"]
    assert bad.any()
    assert not np.isnan(trial.traces.channels["eye_v_right"]).any()
    np.testing.assert_array_equal(down[~bad], 0.0)
    assert down.min() == pytest.approx(-3.0, rel=0.5)
    assert np.all(added["eye_h_right"] == 0.0)


def test_the_lid_moves_slowly():
    added = changes(replace(CLEAN, half_lids=replace(LIDS, waver=0.0)))
    speed_deg_s = np.abs(np.diff(added["eye_v_right"])) * CLEAN.sampling_hz
    assert 5.0 < speed_deg_s.max() < 10.0


def test_noise_is_several_times_larger_while_the_lid_is_half_closed():
    noisy = replace(CLEAN, noise_deg=0.1, half_lids=replace(LIDS, edge_s=0.0))
    trial = recorded(noisy, seed=6)
    noise = trial.traces.channels["eye_h_right"] - recorded(seed=6).traces.channels["eye_h_right"]
    bad = trial.truth.bad["right"]
    assert np.std(noise[bad]) == pytest.approx(0.5, rel=0.1)
    assert np.std(noise[~bad]) == pytest.approx(0.1, rel=0.1)


def test_a_lid_over_one_eye_leaves_the_other():
    added = changes(replace(CLEAN, half_lids=replace(LIDS, eyes=("left",))))
    np.testing.assert_array_equal(added["eye_v_right"], 0.0)
    assert added["eye_v_left"].min() < -1.0
