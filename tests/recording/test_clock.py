import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slowphase.recording.clock import Clock, find_gaps, make_clock, sampling_rate


def clock_of(stamps_s: np.ndarray) -> Clock:
    clock = make_clock(stamps_s)
    assert clock is not None
    assert np.all(np.diff(clock.time_s) > 0)
    return clock


@pytest.mark.parametrize("rate", [50.0, 59.94, 83.3, 220.0, 250.0, 333.0, 1000.0])
@pytest.mark.parametrize("resolution_s", [0.0, 0.001])
def test_the_rate_survives_rounded_stamps(rate: float, resolution_s: float) -> None:
    exact = np.arange(5000) / rate
    stamps = np.round(exact / resolution_s) * resolution_s if resolution_s else exact
    assert sampling_rate(stamps) == pytest.approx(rate, rel=1e-4)


def test_the_median_step_would_be_wrong_by_a_percent() -> None:
    stamps = np.round(np.arange(5000) / 59.94, 3)
    median_rate = 1.0 / np.median(np.diff(stamps))
    assert abs(median_rate / 59.94 - 1) > 0.01  # why the rate is a regression


def test_dropped_rows_do_not_bias_the_rate() -> None:
    keep = np.random.default_rng(5).random(20_000) > 0.02
    keep[4000:6000] = False
    stamps = (np.arange(20_000) / 250.0)[keep]
    assert sampling_rate(stamps) == pytest.approx(250.0, rel=1e-3)


def test_a_gap_stays_a_gap() -> None:
    stamps = np.r_[np.arange(1000), np.arange(1500, 3000)] / 250.0
    clock = clock_of(stamps)
    assert not clock.repaired
    assert find_gaps(clock.time_s).tolist() == [999]
    assert_allclose(clock.time_s, stamps)


def test_uneven_stamps_are_kept() -> None:
    steps = np.random.default_rng(6).uniform(0.003, 0.005, 3000)
    stamps = np.cumsum(steps)
    clock = clock_of(stamps)
    assert_allclose(clock.time_s, stamps)
    assert sampling_rate(clock.time_s) == pytest.approx(1 / np.mean(steps), rel=2e-3)


def test_stamps_rounded_to_repeats_are_evened_between_gaps() -> None:
    exact = np.r_[np.arange(2000), np.arange(2500, 4000)] / 250.0
    clock = clock_of(np.floor(exact * 100) / 100)
    assert clock.repaired
    assert sampling_rate(clock.time_s) == pytest.approx(250.0, rel=1e-3)
    level = np.median(clock.time_s - exact)  # rounding down is late by half a step as a whole
    assert_allclose(clock.time_s - level, exact, atol=0.004)
    assert clock.time_s[2000] - clock.time_s[1999] == pytest.approx(2.004, abs=0.01)


def test_a_backward_stamp_is_put_between_its_neighbours() -> None:
    exact = np.arange(1000) / 250.0
    stamps = exact.copy()
    stamps[500] = 0.1
    clock = clock_of(stamps)
    assert clock.repaired
    assert_allclose(clock.time_s, exact, atol=1e-9)


def test_a_stamp_far_ahead_does_not_spoil_those_after_it() -> None:
    exact = np.arange(1000) / 250.0
    stamps = exact.copy()
    stamps[500] = 1e6
    assert_allclose(clock_of(stamps).time_s, exact, atol=1e-9)


def test_a_lost_stamp_is_filled_in() -> None:
    exact = np.arange(1000) / 250.0
    stamps = exact.copy()
    stamps[300:310] = np.nan
    assert_allclose(clock_of(stamps).time_s, exact, atol=1e-9)


def test_a_row_exported_twice_is_dropped() -> None:
    exact = np.arange(1000) / 250.0
    clock = clock_of(np.insert(exact, 500, exact[500]))
    assert_allclose(clock.time_s, exact, atol=1e-9)
    assert clock.kept.size == 1000


def test_a_clock_that_starts_again_is_refused() -> None:
    assert make_clock(np.tile(np.arange(1000) / 250.0, 3)) is None


def test_no_stamps_make_no_clock() -> None:
    assert make_clock(np.full(1000, np.nan)) is None
    assert make_clock(np.empty(0)) is None


@given(st.lists(st.floats(allow_nan=True, allow_infinity=False, width=32), max_size=60))
def test_a_clock_always_rises_and_never_invents_samples(stamps: list[float]) -> None:
    clock = make_clock(np.array(stamps, dtype=np.float64))
    if clock is not None:
        assert clock.time_s.size == clock.kept.size <= len(stamps)
        assert np.all(np.diff(clock.time_s) > 0)
        assert np.all(np.diff(clock.kept) > 0)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5, 0.99])
def test_rows_exported_twice_are_dropped_however_many(share: float) -> None:
    exact = np.arange(2000) / 250.0
    rows = np.repeat(np.arange(2000), 1 + (np.random.default_rng(3).random(2000) < share))
    repeats_row = np.r_[False, np.diff(rows) == 0]
    clock = make_clock(exact[rows], repeats_row)
    assert clock is not None
    assert_allclose(clock.time_s, exact, rtol=0, atol=1e-12)
    assert_allclose(rows[clock.kept], np.arange(2000))
    assert clock.repaired


def test_rounded_stamps_with_rows_of_their_own_are_still_spread() -> None:
    exact = np.arange(2000) / 250.0
    clock = make_clock(np.floor(exact * 100) / 100, np.zeros(2000, dtype=np.bool_))
    assert clock is not None
    assert clock.kept.size == 2000
    assert sampling_rate(clock.time_s) == pytest.approx(250.0, rel=1e-3)
