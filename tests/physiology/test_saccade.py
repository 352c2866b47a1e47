import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from outside_data import outside
from scipy.signal import savgol_filter

from slowphase.physiology.saccade import (
    MainSequence,
    duration_s,
    peak_to_mean,
    peak_velocity,
    profile,
)

SUBJECTS = ("S1", "S4", "S6")


@given(st.floats(0.3, 24.0), st.sampled_from([-1.0, 1.0]))
def test_amplitude_peak_and_duration_agree(size, sign):
    peak = peak_velocity(MainSequence(), size)
    lasting = duration_s(size, peak)
    time_s = np.linspace(0.0, lasting, 4001)
    velocity = profile(sign * size, lasting, time_s)
    assert np.trapezoid(velocity, time_s) == pytest.approx(sign * size, rel=1e-4)
    assert np.max(sign * velocity) == pytest.approx(peak, rel=1e-4)


@pytest.mark.parametrize("size", [1.0, 5.0, 10.0, 20.0])
def test_duration_is_near_the_usual_line(size):
    # 2.2 ms/deg + 21 ms: common practice, no source
    lasting_ms = 1000 * duration_s(size, peak_velocity(MainSequence(), size))
    assert lasting_ms == pytest.approx(2.2 * size + 21.0, rel=0.35)


def test_peak_velocity_saturates():
    speeds = [peak_velocity(MainSequence(), size) for size in (1.0, 2.0, 5.0, 10.0, 20.0, 40.0)]
    assert np.all(np.diff(speeds) > 0)
    assert speeds[-1] < 520.0


def test_profile_is_a_bell():
    assert 1.5 < peak_to_mean(1.0) < peak_to_mean(20.0) < 2.2  # common practice, no source


def _labelled() -> tuple[np.ndarray, np.ndarray]:
    """Amplitudes and peak speeds of the expert's saccades."""
    sizes, peaks = [], []
    for subject in SUBJECTS:
        gaze = np.load(outside("labelled_saccades") / f"{subject}.npy")
        x, y = (savgol_filter(np.nan_to_num(gaze[axis]), 19, 2) for axis in "xy")
        speed = 1000.0 * np.hypot(np.gradient(x), np.gradient(y))
        edges = np.flatnonzero(np.diff(np.r_[0, (gaze["evt"] == 2).astype(int), 0]))
        for first, last in zip(edges[::2], edges[1::2], strict=True):
            if gaze["status"][first:last].all():
                sizes.append(np.hypot(x[last - 1] - x[first], y[last - 1] - y[first]))
                peaks.append(speed[first:last].max())
    return np.asarray(sizes), np.asarray(peaks)


def test_peak_velocities_are_near_those_of_labelled_human_saccades():
    # Zemblys, Niehorster, Komogortsev, Holmqvist 2018, Behav Res Methods 50:160–181 (MIT)
    sizes, peaks = _labelled()
    for low, high in ((1.5, 3), (3, 6), (6, 9), (9, 13), (13, 20), (20, 30)):
        inside = (sizes > low) & (sizes < high)
        modelled = peak_velocity(MainSequence(), float(np.median(sizes[inside])))
        assert 0.75 < modelled / np.median(peaks[inside]) < 1.1
