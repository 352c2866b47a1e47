"""Charts made of characters."""

import numpy as np

from slowphase.report.sparks import interval_bar, medians, sparkline


def test_a_ramp_rises_through_all_blocks():
    assert sparkline(medians(np.arange(80.0), 8), (0.0, 79.0)) == "▁▂▃▄▅▆▇█"


def test_a_gap_is_a_dot_and_never_a_block():
    values = np.arange(80.0)
    values[30:40] = np.nan
    assert sparkline(medians(values, 8), (0.0, 79.0))[3] == "·"
    assert sparkline(medians(np.full(80, np.nan), 8), (0.0, 1.0)) == "·" * 8


def test_on_a_common_scale_a_small_response_stays_small():
    small = np.sin(np.arange(8.0))
    assert set(sparkline(small, (-40.0, 40.0))) <= {"▄", "▅"}
    assert sparkline(np.array([-99.0, 99.0]), (-40.0, 40.0)) == "▁█"


def test_a_band_may_be_drawn_as_uncertain():
    bar = interval_bar(5.0, (4.0, 6.0), (2.0, 8.0), (0.0, 10.0), 11, fill="╌")
    assert bar == "  ╌╌━●━╌╌  "


def test_a_bar_shows_value_interval_and_band_where_they_are():
    bar = interval_bar(5.0, (4.0, 6.0), (2.0, 8.0), (0.0, 10.0), 11)
    assert bar == "  ░░━●━░░  "


def test_what_lies_outside_the_axis_is_marked_at_its_end():
    assert interval_bar(12.0, (None, None), (None, None), (0.0, 10.0), 5) == "    >"
    assert interval_bar(-1.0, (None, None), (None, None), (0.0, 10.0), 5) == "<    "
