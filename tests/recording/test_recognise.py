"""What the chair did, recognised from its trace alone; motions are made by their formulas."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.recording.recognise import recognise
from tests.recording.chair_motions import RATE_HZ, clock, impulses, rest, sinusoid, spin
from tests.scenarios import scenario


def recognised(*parts, noise=0.05, seed=1):
    velocity = np.concatenate(parts)
    noisy = velocity + np.random.default_rng(seed).normal(0.0, noise, velocity.size)
    return recognise(clock(velocity), noisy)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.0]),
    st.floats(30.0, 120.0),
    st.floats(2.0, 6.0),
    st.floats(0.02, 0.5),
)
def test_a_sinusoid_is_found_with_its_frequency_and_peak(frequency, peak, cycles, noise):
    (trial,) = recognised(sinusoid(frequency, peak, cycles), noise=noise)
    assert trial.kind == "sinusoid"
    assert trial.stimulus["frequency_hz"] == pytest.approx(frequency, rel=0.01)
    assert trial.stimulus["peak_velocity_deg_s"] == pytest.approx(peak, rel=0.01)


@settings(max_examples=40, deadline=None)
@given(st.floats(30.0, 250.0), st.sampled_from([1.0, -1.0]), st.floats(0.3, 4.0))
def test_a_spin_is_found_with_its_direction_and_velocity(velocity, sign, ramp_s):
    (trial,) = recognised(rest(4.0), spin(sign * velocity, ramp_s), rest(60.0))
    assert (trial.kind, trial.stimulus["direction"]) == ("step", "right" if sign > 0 else "left")
    assert trial.stimulus["velocity_deg_s"] == pytest.approx(velocity, rel=0.01)
    assert trial.stop_s == pytest.approx(len(spin(velocity, ramp_s)) / RATE_HZ + 64.0, abs=0.1)


def test_a_whole_session_in_one_export_is_cut_at_rests_and_changes():
    parts = (
        rest(30.0),
        sinusoid(0.04, 60.0, 4),
        rest(12.0),
        sinusoid(0.16, 60.0, 10),
        sinusoid(0.64, 60.0, 12),
        rest(8.0),
        spin(100.0, 1.0),
        rest(60.0),
        spin(-100.0, 1.0),
        rest(60.0),
    )
    found = recognised(*parts)
    assert [trial.kind for trial in found] == ["spontaneous", *["sinusoid"] * 3, "step", "step"]
    assert [trial.stimulus.get("frequency_hz") for trial in found[1:4]] == [0.04, 0.16, 0.64]
    assert [trial.stimulus.get("direction") for trial in found[4:]] == ["right", "left"]
    ends = [(trial.start_s, trial.stop_s) for trial in found]
    assert all(stop <= start for (_, stop), (start, _) in pairwise(ends))


def test_a_rest_is_only_a_guess():
    (trial,) = recognised(rest(60.0))
    assert trial.kind == "spontaneous"
    assert trial.confidence < 0.5


def test_thrusts_of_the_head_are_impulses():
    (trial,) = recognised(impulses(10))
    assert trial.kind == "impulse"


def test_what_fits_nothing_is_other():
    rng = np.random.default_rng(2)
    wild = np.cumsum(rng.normal(0.0, 3.0, 60 * RATE_HZ))
    assert {trial.kind for trial in recognised(wild)} <= {"other", "spontaneous", "step"}
    ramp = np.linspace(3.0, 120.0, 60 * RATE_HZ)
    assert [trial.kind for trial in recognised(ramp)] == ["other"]


def test_a_single_spike_moves_no_chair():
    still = rest(40.0)
    still[1000] = 400.0
    assert [trial.kind for trial in recognised(still)] == ["spontaneous"]


def test_mirroring_swaps_directions_and_nothing_else():
    motion = np.concatenate([rest(15.0), spin(80.0, 1.0), rest(40.0), sinusoid(0.08, 50.0, 5)])
    one, other = recognise(clock(motion), motion), recognise(clock(motion), -motion)
    swapped = {"right": "left", "left": "right"}
    for a, b in zip(one, other, strict=True):
        assert (a.kind, a.start_s, a.stop_s) == (b.kind, b.start_s, b.stop_s)
        assert swapped.get(a.stimulus.get("direction")) == b.stimulus.get("direction")


@pytest.mark.parametrize("time_s", [np.array([]), np.arange(5.0), np.zeros(100)])
def test_without_a_usable_trace_nothing_is_recognised(time_s):
    assert recognise(time_s, np.full(time_s.size, 1.0)) == ()
    assert recognise(np.arange(100.0), np.full(100, np.nan)) == ()


def test_lost_samples_do_not_stop_it():
    motion = sinusoid(0.1, 60.0, 6)
    motion[3000:3400] = np.nan
    (trial,) = recognised(motion)
    assert trial.stimulus["frequency_hz"] == pytest.approx(0.1, rel=0.01)


def test_every_chair_trial_of_the_simulator_is_recognised():
    session, _ = scenario("healthy-250", 1)
    trials = [trial for trial in session.trials if trial.kind in ("sinusoid", "step")]
    assert len(trials) > 5
    for trial in trials:
        recording = trial.recording
        (found,) = recognise(recording.time_s, recording.head_velocity_deg_s)
        assert found.kind == trial.kind
        for key, value in found.stimulus.items():
            told = trial.stimulus[key]
            assert value == (told if isinstance(told, str) else pytest.approx(told, rel=0.02))
