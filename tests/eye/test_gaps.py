import numpy as np
import pytest

from slowphase.eye.gaps import bridge, lid_margins, vertical_blinks
from slowphase.eye.quickphase import Jumps
from slowphase.eye.runs import mask_of, runs_of
from slowphase.eye.settings import EyeSettings

EYE = EyeSettings()


def test_missing_values_lie_on_straight_lines_between_their_neighbours():
    values = np.array([np.nan, 1.0, np.nan, np.nan, 4.0, np.nan])
    assert bridge(values) == pytest.approx([1.0, 1.0, 2.0, 3.0, 4.0, 4.0])


def test_a_trace_without_gaps_is_left_alone():
    values = np.arange(5.0)
    assert np.array_equal(bridge(values), values)


def test_a_blink_has_margins_of_the_stated_lengths_and_they_are_not_lost_samples():
    lost = np.zeros(1000, dtype=bool)
    lost[400:450] = True
    margin = lid_margins(lost, 500.0, EYE)
    assert not np.any(margin & lost)
    assert np.flatnonzero(margin)[0] == 400 - np.ceil(EYE.blink_before_s * 500)
    assert np.flatnonzero(margin)[-1] == 449 + np.ceil(EYE.blink_after_s * 500)


def test_a_dropped_frame_costs_no_margin():
    lost = np.zeros(1000, dtype=bool)
    lost[400 : 400 + int(EYE.glitch_s * 500)] = True
    assert not lid_margins(lost, 500.0, EYE).any()


def test_a_blink_at_the_very_edge_of_a_recording_stays_within_it():
    lost = np.zeros(200, dtype=bool)
    lost[:30] = True
    lost[-30:] = True
    margin = lid_margins(lost, 500.0, EYE)
    assert margin.size == 200
    assert margin[30]
    assert margin[-31]


def jumps(*ranges):
    """Jumps from (start, stop, amplitude)."""
    start, stop, amplitude = (np.array(column) for column in zip(*ranges, strict=True))
    return Jumps(start, stop, amplitude.astype(float), amplitude * 30.0, np.zeros(1000))


def test_an_upward_and_a_downward_jump_close_together_are_a_blink():
    blink = vertical_blinks(jumps((500, 530, 8.0), (580, 620, -7.0)), 2000, 500.0, EYE)
    assert blink[500:620].all()
    assert blink.sum() < 250


@pytest.mark.parametrize(
    "pair",
    [
        ((500, 530, 8.0), (580, 620, 7.0)),  # the same way twice
        ((500, 530, 8.0), (1500, 1540, -7.0)),  # far apart
        ((500, 530, 1.0), (580, 620, -1.0)),  # small
        ((500, 530, 12.0), (580, 620, -3.0)),  # does not come back
    ],
)
def test_other_pairs_of_vertical_jumps_are_no_blink(pair):
    assert not vertical_blinks(jumps(*pair), 2000, 500.0, EYE).any()


def test_no_blink_without_jumps():
    none = np.zeros(0, dtype=np.int64)
    empty = Jumps(none, none, none.astype(float), none.astype(float), np.zeros(1000))
    assert not vertical_blinks(empty, 100, 500.0, EYE).any()


def test_runs_and_masks_are_each_other_s_inverse():
    mask = np.array([1, 1, 0, 0, 1, 0, 1], dtype=bool)
    start, stop = runs_of(mask)
    assert start.tolist() == [0, 4, 6]
    assert stop.tolist() == [2, 5, 7]
    assert np.array_equal(mask_of(start, stop, mask.size), mask)
