import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import cut_pieces, integrate, piece_length_s, slopes

EYE = EyeSettings()


def pieces_of(position, time, usable=None, breaks=None, noise_deg=0.02):
    usable = np.ones(time.size, dtype=bool) if usable is None else usable
    breaks = np.zeros(time.size, dtype=bool) if breaks is None else breaks
    return cut_pieces(position, time, usable, breaks, np.full(time.size, noise_deg), EYE)


def test_the_integral_of_a_constant_is_a_straight_line():
    time = np.array([0.0, 0.1, 0.3, 0.35])
    assert integrate(np.full(4, 2.0), time) == pytest.approx(2.0 * time)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    frequency=st.floats(0.01, 0.64),
    phase=st.floats(0.0, 6.28),
    rate=st.sampled_from([60.0, 250.0, 1000.0]),
)
def test_the_slope_of_a_sinusoid_s_integral_is_its_mean_over_the_nodes(frequency, phase, rate):
    time = np.arange(round(10 * rate)) / rate
    turn = 2 * np.pi * frequency
    pieces = pieces_of(np.sin(turn * time + phase) / turn, time, noise_deg=0.3)
    velocity = np.cos(turn * pieces.node_times_s() + phase).mean(axis=1)
    assert pieces.duration_s.max() > 0.1
    assert pieces.velocity_deg_s == pytest.approx(velocity, abs=3e-4)


def test_the_slope_of_a_cubic_velocity_s_integral_is_its_mean_over_the_nodes():
    time = np.arange(100) / 1000.0
    pieces = pieces_of(time + 3 * time**2 - 7 * time**3 + 11 * time**4, time)
    nodes = pieces.node_times_s()
    velocity = 1 + 6 * nodes - 21 * nodes**2 + 44 * nodes**3
    assert pieces.velocity_deg_s == pytest.approx(velocity.mean(axis=1), rel=1e-4)


def test_slopes_agree_with_numpy_s_own_straight_line_fit_on_an_uneven_clock():
    rng = np.random.default_rng(3)
    time = np.cumsum(rng.uniform(0.5, 1.5, 60)) / 250.0
    signal = rng.normal(0, 1, 60)
    start, stop = np.array([0, 10, 35]), np.array([10, 33, 60])
    expected = [np.polyfit(time[a:b], signal[a:b], 1)[0] for a, b in zip(start, stop, strict=True)]
    assert slopes(signal, time, start, stop) == pytest.approx(expected, rel=1e-9)


def test_the_standard_error_of_a_piece_is_that_of_its_scatter():
    rng = np.random.default_rng(4)
    time = np.arange(50_000) / 250.0
    pieces = pieces_of(rng.normal(0, 0.05, time.size), time, noise_deg=0.05)
    assert np.std(pieces.velocity_deg_s / pieces.noise_deg_s) == pytest.approx(1.0, rel=0.05)


def test_pieces_hold_every_usable_sample_once_and_no_other():
    usable = np.ones(5000, dtype=bool)
    usable[1000:1100] = False
    usable[2000:2003] = False
    time = np.arange(5000) / 250.0
    pieces = pieces_of(3.0 * time, time, usable)
    inside = np.zeros(5000, dtype=int)
    for a, b in zip(pieces.start, pieces.stop, strict=True):
        inside[a:b] += 1
    assert np.array_equal(inside, usable.astype(int))


def test_a_run_too_short_to_carry_a_slope_is_left_out():
    usable = np.zeros(1000, dtype=bool)
    usable[100:105] = True  # 20 ms
    usable[500:600] = True
    time = np.arange(1000) / 250.0
    pieces = pieces_of(time, time, usable)
    assert pieces.start.min() == 500
    assert pieces.stop.max() == 600


def test_no_piece_reaches_across_a_break_or_a_gap_in_time():
    time = np.arange(1000) / 250.0
    time[700:] += 1.0
    breaks = np.zeros(1000, dtype=bool)
    breaks[300] = True
    pieces = pieces_of(time, time, breaks=breaks)
    for edge in (300, 700):
        assert not np.any((pieces.start < edge) & (pieces.stop > edge))


def test_an_uneven_clock_does_not_change_the_velocity():
    rng = np.random.default_rng(7)
    time = np.sort(np.arange(2000) / 100.0 + rng.uniform(-0.002, 0.002, 2000))
    pieces = pieces_of(-12.0 * time, time)
    assert pieces.velocity_deg_s == pytest.approx(np.full(len(pieces), -12.0), rel=1e-9)


def test_pieces_of_one_slow_phase_share_their_beat_number():
    usable = np.ones(1000, dtype=bool)
    usable[500:520] = False
    time = np.arange(1000) / 250.0
    pieces = pieces_of(time, time, usable)
    assert set(pieces.beat[pieces.stop <= 500]) == {0}
    assert set(pieces.beat[pieces.start >= 520]) == {1}


def test_noisy_recordings_get_longer_pieces_within_the_limits():
    lengths = [piece_length_s(noise, 0.004, EYE) for noise in (0.001, 0.05, 0.1, 3.0)]
    assert lengths == sorted(lengths)
    assert lengths[0] == EYE.piece_min_s
    assert lengths[-1] == EYE.piece_max_s


def test_nothing_usable_gives_no_pieces():
    time = np.arange(100) / 250.0
    assert len(pieces_of(time, time, np.zeros(100, dtype=bool))) == 0
