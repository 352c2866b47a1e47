"""What must not depend on side, scale, offset, order or sampling rate."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_traces import (
    RATE_HZ,
    answered,
    measured,
    recorded,
    spinning,
    times,
    trial,
    turning,
)

from slowphase.recording.trial import Recording

few = settings(max_examples=6, deadline=None, derandomize=True)
GAIN_LIKE = ("gain", "gain_right", "gain_left")


def base(frequency_hz=0.16, *, cycles=6, noise_deg=0.04):
    """An unequal reflex with a bias, as a recording."""
    time = times(3.0 + cycles / frequency_hz + 1.0)
    head = turning(frequency_hz, cycles, time)
    velocity = 3.0 + answered(head, (0.4, 10.0), (0.6, 16.0), 120.0)
    return recorded(velocity, head, time, noise_deg=noise_deg)


def sinusoid(recording, frequency_hz=0.16):
    return measured(
        trial("sinusoid", recording, frequency_hz=frequency_hz, peak_velocity_deg_s=60.0)
    )


def spin(recording):
    return measured(trial("step", recording, direction="right", velocity_deg_s=100.0))


def turned_round():
    time = times(110.0)
    head = spinning(time, stop_s=55.0)
    return recorded(2.0 + answered(head, (0.4, 9.0), (0.6, 15.0), 120.0), head, time)


def eye_changed(recording, change):
    channels = {role: change(trace) for role, trace in recording.channels.items()}
    return replace(recording, channels=channels)


def values(found):
    return {name: measure.value for name, measure in found.items()}


@few
@given(scale=st.floats(0.5, 2.0))
def test_scaling_eye_position_scales_gains_and_bias_and_not_the_phase(scale):
    before, after = sinusoid(base()), sinusoid(eye_changed(base(), lambda eye: scale * eye))
    for name in (*GAIN_LIKE, "bias", "offset", "peak_speed"):
        assert after[name].value == pytest.approx(scale * before[name].value, rel=0.01, abs=0.05)
    assert after["phase"].value == pytest.approx(before["phase"].value, abs=0.2)
    assert after["asymmetry"].value == pytest.approx(before["asymmetry"].value, abs=0.5)


@few
@given(late=st.integers(0, 10), frequency=st.sampled_from([0.08, 0.32, 0.64]))
def test_delaying_the_eye_takes_its_own_angle_from_the_phase(late, frequency):
    original = base(frequency, cycles=8)
    size = original.time_s.size - late
    delayed = Recording(
        original.time_s[:size],
        RATE_HZ,
        {role: eye[:size] for role, eye in original.channels.items()},
        original.head_velocity_deg_s[late:],
        "measured",
    )
    before, after = sinusoid(original, frequency), sinusoid(delayed, frequency)
    lost = 360.0 * frequency * late / RATE_HZ
    assert after["phase"].value == pytest.approx(before["phase"].value - lost, abs=0.15)
    assert after["gain"].value == pytest.approx(before["gain"].value, rel=0.01)


def mirrored(recording):
    turned = eye_changed(recording, lambda eye: -eye)
    return replace(turned, head_velocity_deg_s=-recording.head_velocity_deg_s)


def test_mirroring_eye_and_head_swaps_right_and_left_of_a_sinusoid_and_nothing_else():
    before, after = sinusoid(base()), sinusoid(mirrored(base()))
    swapped = {"gain_right": "gain_left", "gain_left": "gain_right"}
    signed = ("bias", "offset", "asymmetry")
    assert set(before) == set(after)
    for name, measure in before.items():
        other = after[swapped.get(name, name)]
        sign = -1.0 if name in signed else 1.0
        assert other.value == pytest.approx(sign * measure.value, rel=1e-4, abs=1e-4)
        ends = sorted(sign * end for end in (measure.low, measure.high))
        assert [other.low, other.high] == pytest.approx(ends, rel=1e-3, abs=1e-3)
        assert other.why == measure.why


def test_mirroring_eye_and_head_swaps_the_sides_of_a_spin_and_nothing_else():
    before, after = spin(turned_round()), spin(mirrored(turned_round()))
    opposite = {"right": "left", "left": "right", None: None}
    signed = ("bias", "asymmetry", "time_constant_difference")
    assert set(before) == set(after)
    for name, measure in before.items():
        sign = -1.0 if name in signed else 1.0
        expected = None if measure.value is None else sign * measure.value
        assert after[name].value == pytest.approx(expected, rel=1e-4, abs=1e-4)
        assert after[name].exciting == opposite[measure.exciting]
        assert after[name].why == measure.why


@few
@given(shift=st.floats(-15.0, 15.0))
def test_a_constant_added_to_eye_position_changes_only_what_refers_to_straight_ahead(shift):
    before, after = sinusoid(base()), sinusoid(eye_changed(base(), lambda eye: eye + shift))
    leak = before["gaze_slope"].value
    for name in (*GAIN_LIKE, "phase", "gaze_slope", "usable", "response_power"):
        assert after[name].value == pytest.approx(before[name].value, rel=1e-4, abs=1e-4)
    straight = before["bias"].value + leak * shift  # v = bias - leak * gaze
    assert after["bias"].value == pytest.approx(straight, abs=0.01)


def test_a_constant_added_to_eye_position_leaves_step_responses_as_they_were():
    before = spin(turned_round())
    after = spin(eye_changed(turned_round(), lambda eye: eye - 9.0))
    for name in ("per/gain", "per/time_constant", "post/gain", "post/time_constant"):
        assert after[name].value == pytest.approx(before[name].value, rel=1e-3)


@few
@given(holes=st.lists(st.tuples(st.integers(0, 9000), st.integers(5, 400)), min_size=1, max_size=6))
def test_hiding_samples_moves_no_measure_out_of_its_interval(holes):
    def hide(eye):
        hidden = eye.copy()
        for start, length in holes:
            hidden[start : start + length] = np.nan
        return hidden

    before, after = sinusoid(base()), sinusoid(eye_changed(base(), hide))
    assert after["usable"].value <= before["usable"].value + 0.5
    for name in (*GAIN_LIKE, "phase", "bias"):
        margin = 2.0 * (after[name].high - after[name].low)
        assert abs(after[name].value - before[name].value) <= margin


def halved(recording):
    return Recording(
        recording.time_s[::2],
        RATE_HZ / 2,
        {role: eye[::2] for role, eye in recording.channels.items()},
        recording.head_velocity_deg_s[::2],
        "measured",
    )


@pytest.mark.parametrize("measure", [sinusoid, spin])
def test_half_the_sampling_rate_moves_no_measure_beyond_its_interval(measure):
    recording = base() if measure is sinusoid else turned_round()
    before, after = measure(recording), measure(halved(recording))
    assert set(before) == set(after)
    counted = {"usable", "cycles", "cycle_spread", "lapse_share", "response_power"}
    for name in set(before) - counted:
        if before[name].low is None:
            continue
        reach = max(before[name].high - before[name].low, after[name].high - after[name].low)
        assert abs(after[name].value - before[name].value) <= max(1.5 * reach, 1e-3), name


def test_the_same_recording_gives_the_same_measures_to_the_last_digit():
    assert values(sinusoid(base())) == values(sinusoid(base()))
    assert values(spin(turned_round())) == values(spin(turned_round()))
