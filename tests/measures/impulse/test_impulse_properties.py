"""What must hold whatever the patient: mirrors, scales, offsets, clocks, and nothing invented."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_impulses import Made, measured, own, recording_of, series, table

from slowphase.measures.impulse.plane import CANALS, plane_of_canal

GIVEN = tuple(
    replace(one, saccades=((0.11, 3.0), (0.25, 2.5)) if one.side > 0 else ())
    for one in series(12, gains=(0.6, 0.95), seed=7)
)
PLAIN = recording_of(Made(GIVEN))
OTHER_SIDE = {"right lateral": "left lateral", "left lateral": "right lateral"}


def changed(recording, *, eye=lambda values: values, head=lambda values: values):
    channels = {role: eye(values) for role, values in recording.channels.items()}
    return replace(
        recording, channels=channels, head_velocity_deg_s=head(recording.head_velocity_deg_s)
    )


def test_mirroring_head_and_eye_swaps_the_sides_and_nothing_else():
    mirrored = changed(PLAIN, eye=np.negative, head=np.negative)
    one, other = table(measured(PLAIN)), table(measured(mirrored))
    for (of, name), measure in one.items():
        twin = other[OTHER_SIDE.get(of, of), name]
        assert twin.value == pytest.approx(measure.value, nan_ok=True, abs=1e-9), name
        assert twin.why == measure.why


@settings(max_examples=8)
@given(st.floats(0.3, 1.5))
def test_gain_grows_as_the_eye_does(factor):
    scaled = table(measured(changed(PLAIN, eye=lambda values: factor * values)))
    plain = table(measured(PLAIN))
    for canal in OTHER_SIDE:
        expected = factor * plain[canal, "gain"].value
        assert scaled[canal, "gain"].value == pytest.approx(expected, abs=0.012)


@pytest.mark.parametrize("nystagmus", [-6.0, 4.0])
def test_a_spontaneous_nystagmus_changes_no_gain(nystagmus):
    time_s = PLAIN.time_s
    drift = nystagmus * ((time_s + 0.3) % 0.9 - 0.45)  # beats of its own, back every 0.9 s
    beating = changed(PLAIN, eye=lambda values: values + drift)
    found, plain = table(measured(beating)), table(measured(PLAIN))
    for canal in OTHER_SIDE:
        assert found[canal, "gain"].value == pytest.approx(plain[canal, "gain"].value, abs=0.03)


@pytest.mark.parametrize("offset_deg_s", [-3.0, 5.0])
def test_an_offset_of_the_head_s_sensor_changes_no_gain(offset_deg_s):
    found = table(measured(changed(PLAIN, head=lambda values: values + offset_deg_s)))
    for canal, gain in (("right lateral", 0.6), ("left lateral", 0.95)):
        assert found[canal, "gain"].value == pytest.approx(gain, abs=0.025)


@pytest.mark.parametrize("late_s", [-0.02, 0.02])
def test_clocks_that_disagree_change_the_lag_and_no_gain(late_s):
    made = Made(GIVEN)
    late = recording_of(replace(made, latency_s=made.latency_s + late_s))
    found = table(measured(late))
    assert found[None, "eye_lag"].value == pytest.approx(1000 * (0.009 + late_s), abs=3.0)
    assert found["left lateral", "gain"].value == pytest.approx(0.95, abs=0.02)
    assert found["left lateral", "gain_regression"].value == pytest.approx(0.95, abs=0.02)


def test_hidden_samples_refuse_their_impulse_and_invent_none():
    whole = own(measured(PLAIN))
    third = whole.impulses[2].onset_s
    blink = (PLAIN.time_s > third + 0.02) & (PLAIN.time_s < third + 0.15)
    found = own(measured(changed(PLAIN, eye=lambda values: np.where(blink, np.nan, values))))
    assert [one.onset_s for one in found.impulses] == [one.onset_s for one in whole.impulses]
    assert found.impulses[2].refused == ("impulse_blink",)
    assert [one.refused for i, one in enumerate(found.impulses) if i != 2] == [()] * 11


def test_a_blink_after_the_movement_leaves_the_gain_and_takes_the_saccades():
    third = own(measured(PLAIN)).impulses[2].onset_s
    blink = (PLAIN.time_s > third + 0.28) & (PLAIN.time_s < third + 0.40)
    found = own(measured(changed(PLAIN, eye=lambda values: np.where(blink, np.nan, values))))
    assert found.impulses[2].accepted
    assert not found.impulses[2].watched


def test_rows_that_are_missing_and_stamps_that_jitter_change_no_gain():
    rng = np.random.default_rng(1)
    keep = rng.random(PLAIN.time_s.size) > 0.02
    uneven = PLAIN.time_s[keep] + 0.0004 * rng.standard_normal(keep.sum())
    channels = {role: values[keep] for role, values in PLAIN.channels.items()}
    head = PLAIN.head_velocity_deg_s[keep]
    rate = PLAIN.sampling_hz
    thinned = replace(
        PLAIN, time_s=np.maximum.accumulate(uneven), channels=channels,
        head_velocity_deg_s=head, sampling_hz=rate,
    )  # fmt: skip
    found = table(measured(thinned))
    assert found["right lateral", "gain"].value == pytest.approx(0.6, abs=0.02)
    assert found["left lateral", "gain"].value == pytest.approx(0.95, abs=0.02)


def test_the_same_recording_gives_the_same_numbers():
    assert measured(PLAIN).measures == measured(PLAIN).measures


# Planes: which canal the sign of the head's velocity excites.


@pytest.mark.parametrize("plane", ["RALP", "LARP"])
def test_vertical_planes_are_measured_with_the_vertical_eye(plane):
    made = series(12, gains=(0.85, 0.4), seed=9)  # nose up, nose down
    found = table(measured(recording_of(Made(made), role="eye_v"), plane=plane))
    up, down = CANALS[plane]
    assert found[up, "gain"].value == pytest.approx(0.85, abs=0.02)
    assert found[down, "gain"].value == pytest.approx(0.4, abs=0.02)
    assert {of for of, _ in found} == {up, down, None}


def test_nose_down_excites_the_anterior_canal_of_the_plane_s_own_side():
    # Right anterior – left posterior and left anterior – right posterior: the planes' names
    assert CANALS["RALP"] == ("left posterior", "right anterior")
    assert CANALS["LARP"] == ("right posterior", "left anterior")
    assert CANALS["lateral"] == ("right lateral", "left lateral")


def test_pitch_and_roll_give_the_planes_as_rotations_do():
    """Against vectors: a RALP turn is one about the axis at 45 deg between front and left.

    x forward, y left, z up, right-hand rule: nose down is +y, the top of the head to the right
    shoulder +x. Falling to the front right turns about (1, 1, 0)/√2.
    """
    axis = np.array([1.0, 1.0, 0.0]) / np.sqrt(2.0)
    fallen = np.cross(axis, [0.0, 0.0, 1.0])
    np.testing.assert_allclose(fallen, np.array([1.0, -1.0, 0.0]) / np.sqrt(2.0), atol=1e-12)
    made = series(12, gains=(0.8, 0.8), seed=2)
    one = recording_of(Made(made), role="eye_v")
    up = one.head_velocity_deg_s  # nose up in RALP: against that axis
    pitch, roll = up * axis[1], -up * axis[0]
    axes = {"head_velocity_pitch": pitch, "head_velocity_roll": roll}
    turned = replace(one, channels=one.channels | axes, head_velocity_deg_s=None)
    right = table(measured(turned, plane="RALP"))
    assert right["right anterior", "gain"].value == pytest.approx(0.8, abs=0.02)
    wrong = measured(turned, plane="LARP")
    assert {m.why[0] for m in wrong.measures if m.name == "gain"} == {"other_plane"}


@pytest.mark.parametrize(
    ("words", "plane"),
    [
        ("left horizontal", "lateral"),
        ("right anterior", "RALP"),
        ("Left Posterior", "RALP"),
        ("left superior", "LARP"),
        ("right posterior", "LARP"),
        ("posterior", None),
        ("oblique", None),
    ],
)
def test_a_canal_in_words_tells_its_plane(words, plane):
    assert plane_of_canal(words) == plane
