import csv

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_traces import beating, times
from outside_data import outside
from scipy.io import loadmat

from slowphase.eye.slowphase import slopes
from slowphase.eye.trace import UNUSED_REASONS, USED
from slowphase.eye.track import mark, track
from slowphase.measures.least_squares import certified_fit
from slowphase.measures.reflex import data_of
from slowphase.measures.regression import no_prior, robust_fit
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Recording

LOST, BLINK, QUICK = (UNUSED_REASONS.index(name) for name in ("lost", "blink", "quick_phase"))


def recording(channels, rate_hz=250.0):
    size = next(iter(channels.values())).size
    return Recording(np.arange(size) / rate_hz, rate_hz, channels)


def nystagmus(velocity_deg_s=-20.0, length_s=20.0, noise_deg=0.03, seed=0):
    time = times(length_s)
    noise = np.random.default_rng(seed).normal(0, noise_deg, time.size)
    return beating(np.full(time.size, velocity_deg_s), time) + noise


# --- recordings from outside -------------------------------------------------------------------


def head_turns(name):
    """Clock (s), eye channels (deg, positive right and up) and head yaw (deg, positive right).

    EveCharbie/EyeDentify3d at 2d54ab3, MIT: gaze in the head from a head-mounted display, about
    125 Hz; azimuth is positive to the left in the file; a gaze is valid where the mark is 31.
    """
    path = outside("active_head_turns") / f"{name}.csv"
    with path.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines, delimiter=";"))
    first = int(rows[0]["time(100ns)"]) if rows else 0
    time = np.array([int(row["time(100ns)"]) - first for row in rows]) * 1e-7

    def column(key):
        return np.array([float(row[key]) for row in rows])

    channels = {}
    for side, letter in (("right", "R"), ("left", "L")):
        valid = column(f"eye_valid_{letter}") == 31
        x, y, z = (column(f"gaze_direct_{letter}.{axis}") for axis in "xyz")
        channels[f"eye_h_{side}"] = np.where(valid, -np.degrees(np.arctan2(x, z)), np.nan)
        channels[f"eye_v_{side}"] = np.where(valid, np.degrees(np.arctan2(y, z)), np.nan)
    rate = 1.0 / np.polyfit(np.arange(time.size), time, 1)[0] if time.size > 2 else 125.0
    yaw = np.degrees(np.unwrap(np.radians(column("helmet_rot_y"))))
    return Recording(time, float(rate), channels), yaw


def test_slow_phases_of_real_head_turns_in_the_light_make_up_for_the_head():
    # The data folder's own rough robust slope is 0.98 at zero lag; in light the eye should
    # follow nearly wholly (common practice, no source).
    seen, yaw = head_turns("TESTNA01_360VR_Fist3")
    horizontal, _ = track(seen)
    pieces = horizontal.pieces
    head = slopes(yaw, seen.time_s, pieces.start, pieces.stop)

    def line(p):
        return p[0] - p[1] * head

    fit = robust_fit(line, np.array([0.0, 0.5]), data_of(pieces, MeasureSettings()), no_prior(2))
    assert np.std(head) > 15.0
    assert len(horizontal.trace.quick_phases) > 10
    assert fit.parameters[1] == pytest.approx(0.98, abs=0.05)
    assert np.corrcoef(pieces.velocity_deg_s, -head)[0, 1] > 0.9


def test_a_recording_in_which_the_eye_is_hardly_ever_seen_gives_hardly_any_slow_phase():
    seen, yaw = head_turns("TESTNA10_360VR_Fist3")
    assert np.ptp(yaw) == 0.0  # this file has no head signal
    horizontal, _ = track(seen)
    lost = np.isnan(seen.channels["eye_h_right"]) & np.isnan(seen.channels["eye_h_left"])
    if horizontal is not None:
        assert not np.any((horizontal.trace.use == USED) & lost)
        assert np.all(horizontal.trace.use[lost] == LOST)


def test_a_file_without_samples_has_no_eyes():
    seen, _ = head_turns("TESTVA03_2D_Spread9")
    assert seen.time_s.size == 0
    assert track(seen) == (None, None)


def test_pursuit_of_a_known_target_is_found_again_between_its_catch_up_saccades():
    # lit24/primateEyeTracker_Data at 3d1b63a, Unlicense: monkey scleral search coil, 1000 Hz.
    # The data folder's own fit of the whole trace: 0.500 Hz, amplitude 5.01 deg.
    file = outside("coil_pursuit") / "Testdata_Coil_Horizontal.mat"
    position = loadmat(file, squeeze_me=True)["smoothPursuit0_5"].astype(float)
    horizontal, _ = track(recording({"eye_h_right": position}, 1000.0))
    pieces = horizontal.pieces

    def where(p):
        angle = 2 * np.pi * p[0] * pieces.time_s
        return p[1] * np.cos(angle) + p[2] * np.sin(angle) + p[3]

    def how_fast(p):
        turn = 2 * np.pi * p[0]
        angle = turn * pieces.node_times_s()
        return p[3] + turn * np.mean(p[2] * np.cos(angle) - p[1] * np.sin(angle), axis=1)

    start = np.array([0.5, 3.0, 3.0, 0.0])
    seen, _ = certified_fit(where, start, pieces.gaze_deg)
    slow = robust_fit(how_fast, start, data_of(pieces, MeasureSettings()), no_prior(4)).parameters
    assert seen[0] == pytest.approx(0.500, abs=0.0005)
    assert np.hypot(seen[1], seen[2]) == pytest.approx(5.01, abs=0.06)
    assert slow[0] == pytest.approx(0.500, abs=0.0005)
    # Saccades catch up what the smooth part lacks: it cannot be the larger one.
    assert 0.7 < np.hypot(slow[1], slow[2]) / np.hypot(seen[1], seen[2]) < 1.0
    assert 50 < len(horizontal.trace.quick_phases) < 250


# --- made recordings ---------------------------------------------------------------------------


def test_slow_phase_and_quick_phases_of_a_steady_nystagmus_are_told_apart():
    horizontal, vertical = track(recording({"eye_h_right": nystagmus(-20.0)}))
    assert vertical is None
    assert np.median(horizontal.pieces.velocity_deg_s) == pytest.approx(-20.0, abs=0.3)
    assert np.all(horizontal.trace.quick_phases.amplitude_deg > 0)
    assert horizontal.trace.usable_pct > 75.0


@settings(max_examples=12, deadline=None, derandomize=True)
@given(holes=st.lists(st.tuples(st.integers(0, 4900), st.integers(1, 300)), min_size=1, max_size=8))
def test_hidden_samples_are_never_used(holes):
    eye = nystagmus()
    for start, length in holes:
        eye[start : start + length] = np.nan
    horizontal, _ = track(recording({"eye_h_right": eye}))
    hidden = np.isnan(eye)
    trace, pieces = horizontal.trace, horizontal.pieces
    assert np.all(trace.use[hidden] == LOST)
    assert np.isnan(trace.position_deg[hidden]).all()
    assert np.isnan(trace.velocity_deg_s[hidden]).all()
    total = np.concatenate([[0], np.cumsum(hidden)])
    assert np.all(total[pieces.stop] == total[pieces.start])
    before, _ = track(recording({"eye_h_right": nystagmus()}))
    assert trace.usable_pct <= before.trace.usable_pct + 1.0


def test_the_displayed_slow_phase_exists_exactly_where_samples_are_used():
    eye = nystagmus()
    eye[1000:1100] = np.nan
    horizontal, _ = track(recording({"eye_h_right": eye}))
    trace = horizontal.trace
    assert np.array_equal(np.isfinite(trace.velocity_deg_s), trace.use == USED)


def test_samples_beside_a_blink_are_called_blink_and_not_quick_phase():
    eye = nystagmus(0.0)
    eye[1000:1050] = np.nan
    horizontal, _ = track(recording({"eye_h_right": eye}))
    assert np.all(horizontal.trace.use[985:1000] == BLINK)
    assert np.all(horizontal.trace.use[1050:1075] == BLINK)


def test_a_blink_of_the_vertical_trace_is_left_out_of_the_horizontal_one():
    time = times(20.0)
    lid = 4.5 * (np.tanh((time - 9.92) / 0.02) - np.tanh((time - 10.1) / 0.03))
    noise = np.random.default_rng(1).normal(0, 0.03, (2, time.size))
    eyes = {"eye_h_right": noise[0], "eye_v_right": lid + noise[1]}
    horizontal, vertical = track(recording(eyes))
    at = round(10.0 * 250)
    assert horizontal.trace.use[at] == vertical.trace.use[at] == BLINK
    assert horizontal.trace.usable_pct > 95.0


@pytest.mark.parametrize(
    ("asked", "used"), [("both", ("right", "left")), ("right", ("right",)), ("left", ("left",))]
)
def test_the_eyes_that_are_asked_for_are_the_eyes_that_are_used(asked, used):
    eyes = {"eye_h_right": nystagmus(seed=1), "eye_h_left": nystagmus(seed=2)}
    horizontal, _ = track(recording(eyes), eye=asked)
    assert horizontal.eyes == used


def test_a_dead_eye_is_not_used():
    eyes = {"eye_h_right": nystagmus(), "eye_h_left": np.zeros(5000)}
    horizontal, _ = track(recording(eyes))
    assert horizontal.eyes == ("right",)


def test_a_recording_without_the_eye_that_is_asked_for_has_no_plane():
    assert track(recording({"eye_h_right": nystagmus()}), eye="left") == (None, None)


def test_a_vertical_plane_that_is_all_noise_hides_nothing_of_the_horizontal_one():
    rng = np.random.default_rng(2)
    wild = rng.normal(0, 1.0, 5000) + 30.0 * (rng.uniform(size=5000) > 0.5)
    alone, _ = track(recording({"eye_h_right": nystagmus()}))
    beside, _ = track(recording({"eye_h_right": nystagmus(), "eye_v_right": wild}))
    assert beside.trace.usable_pct > 0.6 * alone.trace.usable_pct


def test_an_uneven_clock_with_missing_rows_gives_the_same_velocity():
    time = times(20.0)
    rng = np.random.default_rng(3)
    uneven = np.sort(time + rng.normal(0, 0.15 / 250.0, time.size))
    eye = beating(np.full(time.size, -20.0), uneven) + rng.normal(0, 0.03, time.size)
    keep = rng.uniform(size=time.size) > 0.02
    rate = 1.0 / np.polyfit(np.arange(keep.sum()), uneven[keep], 1)[0]
    horizontal, _ = track(Recording(uneven[keep], float(rate), {"eye_h_right": eye[keep]}))
    assert np.median(horizontal.pieces.velocity_deg_s) == pytest.approx(-20.0, abs=0.3)


def test_marking_pieces_changes_used_samples_only():
    horizontal, _ = track(recording({"eye_h_right": nystagmus()}))
    chosen = np.zeros(len(horizontal.pieces), dtype=bool)
    chosen[3] = True
    use = horizontal.trace.use
    marked = mark(use, horizontal.pieces, chosen, "lapse")
    changed = np.flatnonzero(marked != use)
    part = slice(horizontal.pieces.start[3], horizontal.pieces.stop[3])
    assert changed.tolist() == list(range(part.start, part.stop))
    assert {UNUSED_REASONS[code] for code in marked[part]} == {"lapse"}


def test_the_fastest_nystagmus_keeps_its_quick_phases_although_they_fill_half_of_the_time():
    time = np.arange(0.0, 20.0, 0.004)
    period, quick = 0.2, 0.075  # s: 170 deg/s for 0.125 s, then back at -283 deg/s
    inside = np.mod(time, period) < quick
    velocity = np.where(inside, -283.0, 170.0)
    noise = np.random.default_rng(8).normal(0.0, 0.05, time.size)
    position = np.cumsum(velocity) * 0.004 + noise
    still = np.random.default_rng(9).normal(0.0, 0.05, time.size)
    horizontal, _ = track(recording({"eye_h_right": position, "eye_v_right": still}))
    assert np.median(horizontal.pieces.velocity_deg_s) == pytest.approx(170.0, abs=2.0)
    assert np.mean(np.abs(horizontal.pieces.velocity_deg_s - 170.0) < 10.0) > 0.9


def test_both_planes_of_a_long_recording_at_once_are_the_same_as_one_after_the_other(monkeypatch):
    across = nystagmus(-20.0, 100.0, seed=1)
    up = nystagmus(6.0, 100.0, seed=2)
    up[3000:3100] = np.nan
    made = recording({"eye_h_right": across, "eye_v_right": up})
    at_once = track(made)
    monkeypatch.setattr("slowphase.eye.track.LONG", across.size + 1)
    for one, other in zip(at_once, track(made), strict=True):
        for name in ("position_deg", "velocity_deg_s", "use"):
            assert np.array_equal(
                getattr(one.trace, name), getattr(other.trace, name), equal_nan=True
            )
        assert np.array_equal(one.pieces.velocity_deg_s, other.pieces.velocity_deg_s)
        assert np.array_equal(one.trace.quick_phases.onset_s, other.trace.quick_phases.onset_s)


def test_a_fault_in_either_plane_of_a_long_recording_is_told(monkeypatch):
    made = recording(
        {"eye_h_right": nystagmus(length_s=100.0), "eye_v_right": nystagmus(length_s=100.0)}
    )

    def broken(seen, role, sides, settings):
        raise ValueError(role)

    monkeypatch.setattr("slowphase.eye.track.find_plane", broken)
    with pytest.raises(ValueError, match="eye_"):
        track(made)
