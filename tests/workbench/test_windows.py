"""Windows of traces: nothing that was recorded is hidden, nothing is invented, at any zoom."""

from time import perf_counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from served import opened

from slowphase.workbench.traces.grid import Grid
from slowphase.workbench.traces.pyramid import Samples, grouped, make_pyramid
from slowphase.workbench.traces.window import window_bytes


@st.composite
def traces(draw):
    n = draw(st.integers(1, 5000))
    seed = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(seed)
    values = random.normal(size=n).astype(np.float32)
    for _ in range(draw(st.integers(0, 3))):
        start = draw(st.integers(0, n - 1))
        values[start : start + draw(st.integers(1, 400))] = np.nan
    return values


def plain(values, first, stop):
    """Least, largest and lost of some samples, the slow way."""
    part = values[first:stop]
    known = part[np.isfinite(part)]
    missing = bool(np.isnan(part).any())
    return (known.min(), known.max(), missing) if known.size else (np.nan, np.nan, missing)


@given(traces(), st.floats(-2, 30), st.floats(-2, 30), st.integers(1, 700))
def test_a_window_holds_the_least_and_largest_of_its_samples_and_what_is_lost(
    values, one, other, columns
):
    grid = Grid(1.5, 0.004, values.size)
    start_s, stop_s = min(one, other), max(one, other)
    header, channels = opened(
        window_bytes(grid, {"a": make_pyramid(values)}, (start_s, stop_s), columns)
    )
    first = round((header["start_s"] - grid.start_s) / grid.step_s)
    bucket = header["bucket"]
    for column in range(header["columns"]):
        at = first + column * bucket
        low, high, missing = plain(values, at, at + bucket)
        assert channels["a"][0][column] == pytest.approx(low, nan_ok=True, abs=0)
        assert channels["a"][1][column] == pytest.approx(high, nan_ok=True, abs=0)
        assert channels["a"][2][column] == missing


@given(traces(), st.floats(0, 20), st.floats(0.001, 20), st.integers(1, 700))
def test_a_window_reaches_over_both_its_ends_and_has_about_the_columns_asked_for(
    values, start_s, length_s, columns
):
    grid = Grid(0.0, 0.004, values.size)
    stop_s = start_s + length_s
    header, _ = opened(window_bytes(grid, {"a": make_pyramid(values)}, (start_s, stop_s), columns))
    if start_s > grid.stop_s:
        assert header["columns"] == (start_s < grid.stop_s + grid.step_s * (1 - 1e-6))
        return
    last = header["start_s"] + (header["columns"] - 1) * header["step_s"]
    assert header["start_s"] <= start_s + 1e-6
    assert last + header["step_s"] > min(stop_s, grid.stop_s) - 1e-6
    assert header["columns"] <= columns + 2
    assert header["exact"] == (header["bucket"] == 1)


@given(st.integers(0, 1799), st.integers(1, 4000), st.data())
def test_a_drop_out_of_a_fifth_of_a_second_is_missing_in_any_window_that_holds_it(
    lost_at_s, columns, data
):
    hz = 100.0
    values = np.zeros(180_000, dtype=np.float32)
    values[int(lost_at_s * hz) : int((lost_at_s + 0.2) * hz)] = np.nan
    start_s = data.draw(st.floats(0, lost_at_s))
    stop_s = data.draw(st.floats(lost_at_s + 0.2, 1800))
    _, channels = opened(
        window_bytes(
            Grid(0.0, 1 / hz, values.size), {"a": make_pyramid(values)}, (start_s, stop_s), columns
        )
    )
    assert channels["a"][2].any()
    whole = np.isfinite(channels["a"][0])
    assert (channels["a"][0][whole] == 0).all()


@given(traces(), st.integers(1, 60), st.floats(0, 10))
def test_a_picture_does_not_flicker_while_it_is_moved(values, columns, start_s):
    grid = Grid(0.0, 0.004, values.size)
    pyramid = {"a": make_pyramid(values)}
    length_s = 3.0
    one, first = opened(window_bytes(grid, pyramid, (start_s, start_s + length_s), columns))
    moved_s = start_s + one["step_s"]
    other, second = opened(window_bytes(grid, pyramid, (moved_s, moved_s + length_s), columns))
    if one["step_s"] != other["step_s"]:
        return
    offset = round((other["start_s"] - one["start_s"]) / one["step_s"])
    shared = min(one["columns"] - offset, other["columns"])
    assert np.array_equal(
        first["a"][0][offset : offset + shared], second["a"][0][:shared], equal_nan=True
    )


@given(traces(), st.integers(1, 9))
def test_grouping_twice_is_grouping_by_the_product(values, size):
    level = make_pyramid(values).levels[0]
    twice, once = grouped(grouped(level, 8), size), grouped(level, 8 * size)
    assert np.array_equal(twice.low, once.low, equal_nan=True)
    assert np.array_equal(twice.high, once.high, equal_nan=True)
    assert np.array_equal(twice.missing, once.missing)


def test_samples_come_as_they_are_when_there_is_room_for_them():
    values = np.arange(100, dtype=np.float32)
    header, channels = opened(
        window_bytes(Grid(10.0, 0.5, 100), {"a": make_pyramid(values)}, (20.0, 30.0), 500)
    )
    low, high, missing = channels["a"]
    assert header["exact"]
    assert (header["start_s"], header["step_s"]) == (20.0, 0.5)
    assert low.tolist() == high.tolist() == list(range(20, 41))
    assert not missing.any()


def test_a_sample_that_has_two_values_is_never_called_exact():
    low, high = np.zeros(10, np.float32), np.ones(10, np.float32)
    header, channels = opened(
        window_bytes(Grid(0.0, 1.0, 10), {"a": make_pyramid(Samples(low, high))}, (0.0, 9.0), 100)
    )
    assert not header["exact"]
    assert channels["a"][1].tolist() == [1.0] * 10


@pytest.mark.parametrize("length_s", [0.5, 10.0, 100.0, 1800.0])
def test_a_window_of_half_an_hour_at_1000_hz_takes_milliseconds(length_s):
    values = np.random.default_rng(0).normal(size=1_800_000).astype(np.float32)
    pyramid, grid = make_pyramid(values), Grid(0.0, 0.001, values.size)
    rounds = []
    for _ in range(5):
        start = perf_counter()
        window_bytes(grid, {"a": pyramid}, (0.0, length_s), 2000)
        rounds.append(perf_counter() - start)
    assert min(rounds) < 0.005
