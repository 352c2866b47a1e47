import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.eye.quickphase import differentiate, filter_width, find_jumps, running_median
from slowphase.eye.settings import EyeSettings

EYE = EyeSettings()


def with_saccades(rate_hz, amplitude_deg, noise_deg, *, seed=0, slow_deg_s=15.0):
    """Ten saccades (raised cosine of velocity, 2.2 ms a degree and 21 ms) on a steady slow phase.

    Length by the main sequence: common practice, no source.
    """
    time = np.arange(round(11 * rate_hz)) / rate_hz
    length = 0.021 + 0.0022 * amplitude_deg
    onsets = 1.0 + np.arange(10)
    position = slow_deg_s * time
    for onset in onsets:
        part = np.clip((time - onset) / length, 0.0, 1.0)
        position -= amplitude_deg * (part - np.sin(2 * np.pi * part) / (2 * np.pi))
    return position + np.random.default_rng(seed).normal(0, noise_deg, time.size), onsets, length


@pytest.mark.parametrize("rate_hz", [60.0, 120.0, 250.0, 500.0, 1000.0])
def test_quick_phases_are_found_at_any_usual_sampling_rate(rate_hz):
    position, onsets, length = with_saccades(rate_hz, 6.0, 0.05)
    jumps = find_jumps(position, np.zeros(position.size, dtype=bool), rate_hz, EYE)
    assert jumps.start.size == 10
    middle = (jumps.start + jumps.stop) / 2 / rate_hz
    assert middle == pytest.approx(onsets + length / 2, abs=max(0.01, 0.6 / rate_hz))
    assert jumps.amplitude_deg == pytest.approx(np.full(10, -6.0), rel=0.1)
    assert np.all(jumps.peak_velocity_deg_s < 0)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(amplitude=st.floats(0.5, 15.0), seed=st.integers(0, 1000), slow=st.floats(-60.0, 60.0))
def test_a_good_recording_shows_quick_phases_of_half_a_degree_and_no_others(amplitude, seed, slow):
    position, onsets, _ = with_saccades(500.0, amplitude, 0.01, seed=seed, slow_deg_s=slow)
    jumps = find_jumps(position, np.zeros(position.size, dtype=bool), 500.0, EYE)
    inside = jumps.start[(jumps.start > 25) & (jumps.stop < position.size - 25)]
    assert inside / 500.0 == pytest.approx(onsets, abs=0.02)


def test_a_steady_slow_phase_shows_no_quick_phase_at_the_edges_of_the_recording():
    time = np.arange(5000) / 500.0
    position = 9.0 * time + np.random.default_rng(0).normal(0, 0.01, time.size)
    assert find_jumps(position, np.zeros(5000, dtype=bool), 500.0, EYE).start.size == 0


def test_a_poor_recording_without_quick_phases_shows_none():
    for noise in (0.05, 0.3, 1.0):
        position, _, _ = with_saccades(250.0, 0.0, noise, seed=3)
        jumps = find_jumps(position, np.zeros(position.size, dtype=bool), 250.0, EYE)
        assert jumps.start.size == 0


def test_a_fast_smooth_sinusoid_is_no_quick_phase():
    time = np.arange(5000) / 250.0
    position = 12.0 * np.sin(2 * np.pi * 0.64 * time)
    position += np.random.default_rng(0).normal(0, 0.05, time.size)
    assert find_jumps(position, np.zeros(5000, dtype=bool), 250.0, EYE).start.size == 0


def test_noisier_recordings_get_wider_filters_within_the_limits():
    widths = [filter_width(noise, 500.0, EYE) / 500.0 for noise in (0.001, 0.05, 0.2, 5.0)]
    assert widths == sorted(widths)
    assert widths[0] == pytest.approx(EYE.filter_min_s)
    assert widths[-1] == pytest.approx(EYE.filter_max_s)


def test_the_differentiating_filter_gives_the_noise_that_it_promises():
    width = filter_width(0.2, 500.0, EYE)
    noise = np.random.default_rng(5).normal(0, 0.2, 100_000)
    velocity = 500.0 * differentiate(noise, width)
    assert velocity.std() == pytest.approx(EYE.filter_noise_deg_s, rel=0.05)


def test_the_differentiating_filter_is_exact_on_a_straight_line():
    line = 3.0 + 0.25 * np.arange(200)
    assert differentiate(line, 4.0)[20:-20] == pytest.approx(np.full(160, 0.25), rel=1e-12)


@pytest.mark.parametrize("size", [1, 2, 7, 8, 60, 5000])
@pytest.mark.parametrize("window", [1, 3, 8, 15, 16, 17, 50, 300])
def test_the_running_median_is_the_standard_library_s_median_of_every_window(size, window):
    values = np.random.default_rng(size).normal(size=size)
    half = max(1, window // 2)
    windows = [values[max(i - half, 0) : i + half + 1].tolist() for i in range(size)]
    assert running_median(values, window).tolist() == [statistics.median(w) for w in windows]
