import numpy as np
import pytest

from slowphase.eye.fusion import fuse
from slowphase.eye.settings import EyeSettings
from slowphase.recording.eyes import is_alive

RATE_HZ = 250.0


def joined(*eyes):
    fused = fuse(list(eyes), RATE_HZ, EyeSettings())
    return fused.position_deg, fused.changed


def two_eyes(offset_deg=1.0, noise_deg=(0.05, 0.05), seed=0):
    rng = np.random.default_rng(seed)
    common = 5.0 * np.sin(2 * np.pi * 0.3 * np.arange(10_000) / RATE_HZ)
    right, left = (
        common + side + rng.normal(0, noise, common.size)
        for side, noise in ((0.5 * offset_deg, noise_deg[0]), (-0.5 * offset_deg, noise_deg[1]))
    )
    return common, right, left


def test_the_mean_of_two_eyes_is_less_noisy_than_either():
    common, right, left = two_eyes()
    fused, changed = joined(right, left)
    assert np.std(fused - common) == pytest.approx(0.05 / 2**0.5, rel=0.05)
    assert not changed.any()


def test_the_noisier_eye_weighs_less():
    common, right, left = two_eyes(0.0, (0.02, 0.4))
    fused, _ = joined(right, left)
    assert np.std(fused - common) == pytest.approx(0.02, rel=0.1)


@pytest.mark.parametrize("offset_deg", [0.5, 3.0, 10.0])
def test_losing_one_eye_for_a_while_does_not_make_the_trace_jump(offset_deg):
    common, right, left = two_eyes(offset_deg)
    left[4000:6000] = np.nan
    fused, changed = joined(right, left)
    assert np.isfinite(fused).all()
    residual = fused - common
    inside, outside = residual[4000:6000].mean(), np.delete(residual, slice(4000, 6000)).mean()
    assert inside == pytest.approx(outside, abs=0.03)
    assert np.flatnonzero(changed).tolist() == [4000, 6000]


def test_nothing_is_made_up_where_both_eyes_are_lost():
    _, right, left = two_eyes()
    right[100:200] = np.nan
    left[150:250] = np.nan
    fused, _ = joined(right, left)
    assert np.flatnonzero(np.isnan(fused)).tolist() == list(range(150, 200))


def test_eyes_that_are_never_seen_together_leave_the_longer_one():
    _, right, left = two_eyes()
    right[3000:] = np.nan
    left[:3000] = np.nan
    fused, _ = joined(right, left)
    assert np.array_equal(np.isfinite(fused), np.isfinite(left))


def test_a_tracker_that_repeats_one_value_is_not_an_eye():
    _, right, left = two_eyes()
    left[:] = left[0]
    assert is_alive(right)
    assert not is_alive(left)
    fused, changed = joined(right, left)
    assert np.array_equal(fused, right)
    assert not changed.any()


def test_two_dead_eyes_do_not_stop_the_fusion():
    nothing = np.full(100, np.nan)
    fused, _ = joined(nothing, nothing)
    assert np.isnan(fused).all()


def test_an_eye_that_is_poor_for_a_while_weighs_less_for_that_while():
    rng = np.random.default_rng(4)
    common, right, left = two_eyes()
    left[4000:6000] += rng.normal(0, 1.0, 2000)
    fused, changed = joined(right, left)
    residual = fused - common
    assert np.std(residual[4300:5700]) < 0.06
    assert np.std(np.delete(residual, slice(3700, 6300))) == pytest.approx(0.05 / 2**0.5, rel=0.06)
    assert not changed.any()


def test_the_noise_of_the_fused_trace_is_told_at_every_sample():
    _, right, left = two_eyes()
    left[4000:6000] = np.nan
    noise = fuse([right, left], RATE_HZ, EyeSettings()).noise_deg
    assert np.median(noise[4500:5500]) == pytest.approx(0.05, rel=0.1)
    assert np.median(noise[:3000]) == pytest.approx(0.05 / 2**0.5, rel=0.1)
