"""Charts made of characters."""

import numpy as np

from slowphase.report.sparks import interval_bar, sparkline


def test_a_ramp_rises_through_all_blocks():
    assert sparkline(np.arange(80.0), 8) == "▁▂▃▄▅▆▇█"


def test_a_gap_is_a_dot_and_never_a_block():
    values = np.arange(80.0)
    values[30:40] = np.nan
    assert sparkline(values, 8)[3] == "·"
    assert sparkline(np.full(80, np.nan), 8) == "·" * 8


def test_noise_smaller_than_the_flat_range_stays_in_the_middle():
    noise = np.array([0.1, -0.1] * 40)
    assert set(sparkline(noise, 8, flat=10.0)) <= {"▄", "▅"}


def test_a_bar_shows_value_interval_and_band_where_they_are():
    bar = interval_bar(5.0, (4.0, 6.0), (2.0, 8.0), (0.0, 10.0), 11)
    assert bar == "  ░░━●━░░  "


def test_what_lies_outside_the_axis_is_marked_at_its_end():
    assert interval_bar(12.0, (None, None), (None, None), (0.0, 10.0), 5) == "    >"
    assert interval_bar(-1.0, (None, None), (None, None), (0.0, 10.0), 5) == "<    "
