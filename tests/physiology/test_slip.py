from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.slip import Slip
from tests.physiology.hard_trial import CLEAN, changes, recorded


def _slipping(**fields):
    return replace(CLEAN, slip=Slip(**fields))


def _time_s():
    return recorded().traces.time_s


def test_a_slip_adds_its_step_to_both_eyes_from_then_on():
    added, time_s = changes(_slipping(at_s=(12.0,), step_deg=4.0)), _time_s()
    for eye in ("right", "left"):
        np.testing.assert_allclose(added[f"eye_h_{eye}"][time_s < 12.0], 0.0, atol=1e-9)
        np.testing.assert_allclose(added[f"eye_h_{eye}"][time_s > 12.11], 4.0, atol=1e-9)
        np.testing.assert_allclose(added[f"eye_v_{eye}"][time_s > 12.11], -2.0, atol=1e-9)


def test_a_slip_of_one_eye_leaves_the_other():
    added = changes(_slipping(at_s=(12.0,), eyes=("left",)))
    np.testing.assert_array_equal(added["eye_h_right"], 0.0)
    assert np.ptp(added["eye_h_left"]) == pytest.approx(3.0)


def test_a_slip_changes_the_gain_of_the_eye_from_then_on():
    slipping = _slipping(at_s=(12.0,), step_deg=0.0, gain=0.85)
    trace, true = recorded(slipping).traces.channels["eye_h_right"], recorded().traces.channels
    late, early = _time_s() > 12.11, _time_s() < 12.0
    np.testing.assert_allclose(trace[late], 0.85 * true["eye_h_right"][late], atol=1e-9)
    np.testing.assert_array_equal(trace[early], true["eye_h_right"][early])


def test_a_slip_of_the_session_is_not_put_right_before_the_next_trial():
    slipping = _slipping(session_at_s=300.0, step_deg=3.0, gain=0.9)
    before = changes(slipping, session_time_s=100.0)["eye_h_right"]
    after = recorded(slipping, session_time_s=400.0).traces
    np.testing.assert_allclose(before, 0.0, atol=1e-9)
    true = recorded(session_time_s=400.0).traces.channels["eye_h_right"]
    np.testing.assert_allclose(after.channels["eye_h_right"], 0.9 * true + 3.0, atol=1e-9)
    assert not after.bad["right"].any()


def test_random_slips_come_as_often_as_asked_to_both_sides():
    steps = []
    for seed in range(40):
        added = changes(_slipping(per_min=4.0, step_deg=4.0, lasting_s=0.0), seed=seed)
        found = np.diff(added["eye_h_right"])
        steps += found[np.abs(found) > 1e-6].tolist()
    expected = 40 * 4.0 * _time_s()[-1] / 60.0
    assert len(steps) == pytest.approx(expected, abs=4 * np.sqrt(expected))
    assert 0.25 < np.mean(np.array(steps) > 0) < 0.75
    assert np.mean(np.abs(steps)) == pytest.approx(4.0, rel=0.15)


def test_the_samples_of_a_slip_under_way_are_marked_as_bad():
    bad, time_s = recorded(_slipping(at_s=(12.0,))).truth.bad, _time_s()
    np.testing.assert_array_equal(bad["right"], (time_s >= 12.0) & (time_s <= 12.1))
