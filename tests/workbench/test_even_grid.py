"""Samples on an even grid: jitter moves none away, a pause is missing, crowded samples are kept."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slowphase.recording.clock import sampling_rate
from slowphase.workbench.traces.grid import on_grid, place
from slowphase.workbench.traces.lines import limits, running_medians
from slowphase.workbench.traces.pyramid import make_pyramid

HZ = 100.0


def clock(n, seed, jitter=0.0, pauses=()):
    random = np.random.default_rng(seed)
    time_s = np.arange(n) / HZ + jitter / HZ * random.uniform(-0.5, 0.5, n)
    for at, length_s in pauses:
        time_s[at:] += length_s
    return np.sort(time_s)


def test_an_even_clock_keeps_every_sample_in_its_place():
    time_s, values = clock(500, 1), np.random.default_rng(2).normal(size=500)
    placing = place(time_s, HZ)
    assert (placing.grid.samples, placing.first) == (500, None)
    assert np.array_equal(on_grid(placing, values).low, values.astype(np.float32))


@given(st.integers(20, 800), st.integers(0, 999), st.floats(0, 0.5))
def test_jitter_of_half_a_step_loses_and_invents_nothing(n, seed, jitter):
    time_s = clock(n, seed, jitter)
    values = np.random.default_rng(seed).normal(size=n)
    placing = place(time_s, sampling_rate(time_s))
    shown = make_pyramid(on_grid(placing, values)).levels[0]
    assert not shown.missing.any()
    small = values.astype(np.float32)
    assert set(small.tolist()) == {*shown.low.tolist(), *shown.high.tolist()}


@given(st.integers(0, 999), st.integers(50, 900), st.floats(0.1, 5.0), st.floats(0, 0.5))
def test_a_pause_of_the_clock_is_missing_for_as_long_as_it_lasts(seed, at, length_s, jitter):
    time_s = clock(1000, seed, jitter, [(at, length_s)])
    placing = place(time_s, sampling_rate(time_s))
    level = make_pyramid(on_grid(placing, np.ones(1000))).levels[0]
    missing_s = level.missing.sum() * placing.grid.step_s
    assert abs(missing_s - length_s) <= 3.5 / HZ
    lost = np.flatnonzero(level.missing)
    assert np.array_equal(lost, np.arange(lost[0], lost[-1] + 1))
    assert abs(placing.grid.start_s + lost[0] * placing.grid.step_s - time_s[at - 1]) < 3.5 / HZ


@given(st.integers(0, 999), st.floats(0, 0.9), st.integers(100, 800), st.integers(1, 40))
def test_samples_that_are_lost_stay_missing_on_an_uneven_clock(seed, jitter, at, n):
    time_s = clock(1000, seed, jitter, [(500, 0.5)])
    values = np.ones(1000)
    values[at : at + n] = np.nan
    placing = place(time_s, sampling_rate(time_s))
    level = make_pyramid(on_grid(placing, values)).levels[0]
    places = np.rint((time_s[at : at + n] - placing.grid.start_s) / placing.grid.step_s)
    assert level.missing[places.astype(int)].all()


def test_a_clock_that_stands_still_for_a_day_does_not_fill_the_memory():
    time_s = clock(1000, 1, 0.0, [(500, 86_400.0)])
    placing = place(time_s, sampling_rate(time_s))
    samples = on_grid(placing, np.arange(1000.0))
    assert placing.grid.samples <= 4 * 1000 + 2
    assert np.nanmax(samples.high) == 999.0
    assert make_pyramid(samples).levels[0].missing.sum() > 3900


def test_two_samples_in_one_place_are_its_least_and_largest():
    time_s = np.r_[np.arange(0, 1, 0.01), 1.001, 1.002, 1.003, np.arange(1.01, 2, 0.01)]
    values = np.zeros(time_s.size)
    values[[100, 101, 102]] = [5.0, np.nan, -5.0]
    placing = place(time_s, 100.0)
    samples = on_grid(placing, values)
    at = round((1.001 - placing.grid.start_s) / placing.grid.step_s)
    near = slice(at - 1, at + 2)
    assert samples.high[near].max() == 5.0
    assert samples.low[near].min() == -5.0
    assert samples.missing[near].any()


def test_recordings_of_one_sample_and_of_none_have_a_grid():
    for n in (0, 1):
        placing = place(np.arange(n, dtype=float), 0.0)
        assert placing.grid.samples == n
        assert placing.grid.step_s > 0


@given(st.integers(1, 500), st.integers(0, 99), st.floats(0.01, 3.0))
def test_medians_are_those_of_numpy_and_missing_where_there_is_none(n, seed, stretch_s):
    random = np.random.default_rng(seed)
    values = random.normal(size=n)
    values[random.random(n) < 0.4] = np.nan
    time_s = np.arange(n) / HZ
    found = running_medians(time_s, values, stretch_s)
    parts = int(np.clip((time_s[-1] - time_s[0]) / stretch_s, 1, n))
    each = n // parts
    first = values[:each]
    known = first[np.isfinite(first)]
    at = min(each // 2, n - 1)
    if known.size:
        assert found[at] == np.median(known) or parts > 1
        assert np.isclose(found[0], np.median(known))
    else:
        assert np.isnan(found[0])


def test_the_limits_of_a_panel_leave_a_spike_of_the_eye_out_and_keep_a_peak_of_the_fit_in():
    values = np.r_[np.random.default_rng(0).normal(size=5000), 900.0]
    assert limits(values, whole=False)[1] < 10.0
    assert limits(values, whole=True)[1] == 900.0
