"""Thinning traces for drawing: never hides a gap, an extreme, or invents a value."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.report.envelope import envelope, runs_of

LONG = 5000


def line(gaps=()):
    time = np.arange(LONG) / 100
    values = np.sin(time) + 0.001 * np.arange(LONG)
    for start, length in gaps:
        values[start : start + length] = np.nan
    return time, values


def drawn_segments(x, y):
    """Every stretch that a plotted line would draw without a break, as (first, last) time."""
    known = np.isfinite(y)
    return [(x[a], x[b - 1]) for a, b in runs_of(known)]


@given(st.lists(st.tuples(st.integers(0, LONG - 1), st.integers(1, 400)), max_size=8))
def test_no_gap_is_ever_drawn_over(gaps):
    time, values = line(gaps)
    x, y = envelope(time, values, 100)
    width = LONG // 100 / 100
    for index in np.flatnonzero(np.isnan(values)):
        for first, last in drawn_segments(x, y):
            assert not first + width < time[index] < last - width


def test_even_one_lost_sample_breaks_the_line():
    whole = drawn_segments(*envelope(*line(), 100))
    broken = drawn_segments(*envelope(*line([(2525, 1)]), 100))
    assert len(whole) == 1
    assert len(broken) == 3


def test_extremes_survive():
    time, values = line()
    values[1234], values[4321] = 99.0, -99.0
    _, y = envelope(time, values, 100)
    assert (np.nanmax(y), np.nanmin(y)) == (99.0, -99.0)


def test_every_drawn_value_is_a_recorded_one():
    time, values = line([(100, 30)])
    _, y = envelope(time, values, 64)
    assert set(y[np.isfinite(y)]) <= set(values[np.isfinite(values)])


def test_few_samples_come_back_as_they_are():
    time, values = line()
    x, y = envelope(time[:200], values[:200], 100)
    assert x.size == 200
    assert np.array_equal(y, values[:200])


def test_nothing_but_gaps_draws_nothing():
    time, values = line([(0, LONG)])
    assert np.isnan(envelope(time, values, 50)[1]).all()


def test_the_envelope_is_as_small_as_it_promises():
    time, values = line([(i, 3) for i in range(0, LONG, 10)])
    assert envelope(time, values, 100)[0].size <= 400


@pytest.mark.parametrize(
    ("flags", "runs"),
    [([0, 1, 1, 0, 1], [(1, 3), (4, 5)]), ([1, 1], [(0, 2)]), ([0], []), ([], [])],
)
def test_runs_are_found_with_their_ends(flags, runs):
    assert runs_of(np.array(flags, dtype=bool)) == runs
