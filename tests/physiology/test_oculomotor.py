from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.oculomotor import (
    GRID_HZ,
    Oculomotor,
    Saccades,
    during,
    eye_motion,
    glissades,
    plan_saccades,
    quick_phase_rate,
    saccade_velocity,
)

COUNT = int(60 * GRID_HZ)


def _motion(velocity_deg_s, eye=None, seed=3):
    wanted = np.full(COUNT, float(velocity_deg_s))
    return eye_motion(eye or Oculomotor(), wanted, np.random.default_rng(seed))


def test_position_is_the_integral_of_slow_phase_and_saccades():
    motion = _motion(20.0)
    fast = saccade_velocity(motion.saccades, COUNT)
    total = motion.slow_phase_deg_s + fast
    integral = np.r_[0.0, np.cumsum((total[1:] + total[:-1]) / 2 / GRID_HZ)]
    np.testing.assert_allclose(motion.position_deg, integral, atol=1e-3)


def test_slow_phase_is_what_was_asked_less_the_leak():
    motion = _motion(12.0, replace(Oculomotor(), gaze_leak_per_s=0.1))
    np.testing.assert_allclose(motion.slow_phase_deg_s, 12.0 - 0.1 * motion.position_deg)


@pytest.mark.parametrize("velocity", [5.0, 20.0, 60.0])
def test_quick_phases_beat_against_the_slow_phase(velocity):
    for sign in (-1.0, 1.0):
        saccades = _motion(sign * velocity).saccades
        assert np.mean(np.sign(saccades.amplitude_deg) == -sign) > 0.97


@pytest.mark.parametrize("velocity", [10.0, 40.0])
def test_beating_field_lies_on_the_side_of_the_quick_phase(velocity):
    assert np.mean(_motion(velocity).position_deg) < -0.5
    assert np.mean(_motion(-velocity).position_deg) > 0.5


def test_rate_rises_with_speed_within_the_usual_range():
    # 0.3 to 5 per second: common practice, no source
    rates = [len(_motion(speed).saccades) / 60.0 for speed in (0.0, 5.0, 20.0, 60.0)]
    assert np.all(np.diff(rates) > 0)
    assert 0.2 < rates[0] < 0.6
    assert 2.0 < rates[-1] < 5.0


@pytest.mark.parametrize("velocity", [0.0, 3.0, 30.0, 100.0])
def test_the_eye_stays_in_the_orbit(velocity):
    assert np.max(np.abs(_motion(velocity).position_deg)) < 35.0


def test_quick_phases_do_not_overlap():
    saccades = _motion(60.0).saccades
    ends = saccades.onset_s + saccades.duration_s
    assert np.all(saccades.onset_s[1:] > ends[:-1])


def test_square_wave_jerks_come_in_pairs_that_cancel():
    still = replace(Oculomotor(), jerks_per_min=30.0)
    with_jerks, without = _motion(0.0, still), _motion(0.0)
    assert len(with_jerks.saccades) > len(without.saccades) + 20
    added = with_jerks.saccades.amplitude_deg.sum() - without.saccades.amplitude_deg.sum()
    assert added == pytest.approx(0.0, abs=1e-9)


def test_ringing_follows_saccades_and_dies_away():
    motion = _motion(30.0)
    assert np.max(np.abs(motion.ringing_deg)) > 0.05
    first = int((motion.saccades.onset_s[0] + motion.saccades.duration_s[0]) * GRID_HZ)
    assert abs(motion.ringing_deg[first + 79]) < 0.02 * np.max(np.abs(motion.ringing_deg))


def test_samples_of_saccades_are_marked():
    motion = _motion(40.0)
    time_s = np.arange(COUNT) / GRID_HZ
    fast = np.abs(saccade_velocity(motion.saccades, COUNT)) > 1.0
    assert during(motion.saccades, time_s)[fast].all()
    assert np.mean(during(motion.saccades, time_s)) < 0.3


def test_no_time_at_all_gives_no_saccades():
    eye = Oculomotor()
    assert len(plan_saccades(eye.quick, np.zeros(10), 0.02, np.random.default_rng(1))) == 0


def test_wanted_rate_never_falls_with_speed():
    rates = quick_phase_rate(Oculomotor().quick, np.linspace(0, 200, 50))
    assert np.all(np.diff(rates) >= 0)


def test_many_small_quick_phases_are_made_without_losing_the_eye():
    usual = _motion(10.0)
    quick = replace(Oculomotor().quick, busy_per_s=6.0, busy_deg_s=10.0, small_share=0.6)
    small = _motion(10.0, replace(Oculomotor(), quick=quick))
    sizes = np.abs(small.saccades.amplitude_deg)
    in_range = (sizes >= 0.3) & (sizes <= 1.0)
    assert np.mean(in_range) > 0.4
    assert np.mean(np.abs(usual.saccades.amplitude_deg) <= 1.0) < 0.15
    assert len(small.saccades) > 1.2 * len(usual.saccades)
    assert np.abs(small.position_deg).max() < 25.0


def test_a_glissade_carries_a_saccade_past_its_end_and_glides_back():
    eye = replace(Oculomotor(), oscillation=0.0, glissade=0.1)
    motion, plain = _motion(20.0, eye), _motion(20.0, replace(eye, glissade=0.0))
    saccades = motion.saccades
    np.testing.assert_array_equal(motion.position_deg, plain.position_deg)
    ends = ((saccades.onset_s + saccades.duration_s) * GRID_HZ).astype(int) + 1
    inside = ends < COUNT
    missed = motion.ringing_deg[ends[inside]] / saccades.amplitude_deg[inside]
    assert np.std(missed) == pytest.approx(0.1, rel=0.25)
    assert np.all(plain.ringing_deg == 0.0)
    assert np.abs(np.diff(motion.ringing_deg)).max() < 0.25  # it never jumps


def test_one_glissade_is_gone_after_a_third_of_a_second():
    one = Saccades(*(np.array([value]) for value in (1.0, 0.05, 10.0, 300.0)))
    after = glissades(one, 0.2, COUNT, np.random.default_rng(1))
    size = np.abs(after).max()
    assert size > 0.05
    assert abs(after[int(1.11 * GRID_HZ)]) == pytest.approx(size / np.e, rel=0.05)
    assert np.all(after[int(1.4 * GRID_HZ) :] == 0.0)
