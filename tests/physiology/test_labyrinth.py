import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.labyrinth import (
    Direction,
    Reflex,
    combined,
    delayed,
    half_response,
    reflex_velocity,
)
from slowphase.physiology.storage import Dynamics

DRIVE = np.linspace(0.0, 400.0, 401)


def test_slow_phase_goes_against_the_head():
    head = np.interp(np.arange(2000) / 1000, [0.5, 1.0], [0.0, 60.0])
    velocity = reflex_velocity(Reflex(), head, 1000.0)
    assert velocity[1500] < -30
    assert reflex_velocity(Reflex(), -head, 1000.0)[1500] > 30


def test_each_direction_has_its_own_gain():
    reflex = Reflex(right=Direction(gain=0.2), left=Direction(gain=0.8))
    velocity = combined(reflex, np.array([50.0, -50.0]), np.array([50.0, -50.0]))
    np.testing.assert_allclose(velocity, [-10.0, 40.0])


def test_a_drive_of_the_other_direction_causes_nothing():
    assert not half_response(Direction(), -DRIVE).any()


def test_saturation_is_linear_below_and_bounded_above():
    side = Direction(gain=1.0, saturation_deg_s=150.0)
    response = half_response(side, DRIVE)
    np.testing.assert_allclose(response[:50], DRIVE[:50], rtol=0.01)
    assert response[-1] < 150.0
    assert np.all(np.diff(response) > 0)


def test_dead_zone_silences_slow_motion_only():
    response = half_response(Direction(gain=1.0, dead_zone_deg_s=4.0), DRIVE)
    assert not response[:5].any()
    np.testing.assert_allclose(response[10:], DRIVE[10:] - 4.0)


def test_cutoff_leaves_the_excited_side_alone():
    side = Direction(gain=1.0, inhibited_share=0.4, cutoff_deg_s=80.0)
    response = half_response(side, DRIVE)
    assert response[20] == pytest.approx(20.0, rel=1e-3)
    slope = response[400] - response[399]
    assert slope == pytest.approx(0.6, abs=0.01)


def test_latency_shifts_the_whole_response():
    head = np.sin(np.arange(3000) / 200)
    late = delayed(head, 0.008, 1000.0)
    np.testing.assert_allclose(late[8:], head[:-8])


@given(
    st.floats(0.05, 1.0),
    st.floats(0.05, 1.0),
    st.floats(3.0, 30.0),
    st.floats(3.0, 30.0),
)
def test_mirroring_person_and_head_mirrors_the_response(gain_r, gain_l, decay_r, decay_l):
    right = Direction(gain=gain_r, dynamics=Dynamics(decay_r), dead_zone_deg_s=1.0)
    left = Direction(gain=gain_l, dynamics=Dynamics(decay_l), saturation_deg_s=90.0)
    head = 60 * np.sin(np.arange(2000) / 150) + 20 * np.sin(np.arange(2000) / 71)
    np.testing.assert_allclose(
        reflex_velocity(Reflex(right, left), head, 100.0),
        -reflex_velocity(Reflex(left, right), -head, 100.0),
    )
