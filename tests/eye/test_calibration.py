from dataclasses import replace

import numpy as np
import pytest
from made_targets import calibration_trial, following, recorded, two_planes

from slowphase.eye.calibration import EyeCalibration, fit_calibration, to_degrees
from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.eye.fixations import explained, running_sums
from slowphase.eye.settings import EyeSettings

PLACES = [(0, 0), (-10, 0), (10, 0), (0, 10), (0, -10), (-20, 0), (20, 0), (-10, 8), (10, -8),
          (0, 0), (15, 5), (-15, -5), (10, 10), (-10, -10), (0, 0)]  # fmt: skip
GAIN = np.array([[41.0, 3.0], [-2.0, 33.0]])  # px per deg
OFFSET = np.array([320.0, 240.0])


def made(seed=0, *, unit="px", places=PLACES, told=True, **options):
    """A calibration in which the right eye is recorded in px and the left one in deg, as asked."""
    time_s, target, eye = two_planes(places, 1.6, np.random.default_rng(seed), **options)
    noise = np.random.default_rng(seed + 100).normal(0.0, 0.05, (2, *eye.shape))
    gain, offset = (GAIN, OFFSET) if unit == "px" else (np.eye(2), np.zeros(2))
    right = (eye + noise[0]) @ gain.T + offset
    channels = {"eye_h_right": right[:, 0], "eye_v_right": right[:, 1]}
    raw = dict.fromkeys(channels, "px") if unit == "px" else {}
    left = eye + noise[1]
    channels |= {"eye_h_left": left[:, 0], "eye_v_left": left[:, 1]}
    if told:
        channels |= {"target_h": target[:, 0], "target_v": target[:, 1]}
    return recorded(time_s, channels, raw_units=raw), eye


def fitted(recording, **stimulus):
    trial = calibration_trial(recording, **stimulus)
    return fit_calibration(trial, EyeSettings(), CalibrationSettings())


def refusals(calibration):
    return {role: fit.refused for role, fit in calibration.planes.items()}


def test_gain_offset_and_cross_talk_of_an_eye_that_somebody_else_made_come_back():
    gains = []
    for seed in range(12):
        recording, _ = made(seed)
        found = fitted(recording).of_eye("right")
        gains.append(found.gain)
        assert found.offset == pytest.approx(OFFSET, abs=0.15 * 41)
    error = np.array(gains) - GAIN
    assert np.median(np.abs(error[:, 0, 0] / 41.0)) < 0.005
    assert np.median(np.abs(error[:, 1, 1] / 33.0)) < 0.006
    assert np.abs(error).mean(axis=0).max() < 0.02 * 41


def test_intervals_of_the_gain_cover_the_truth():
    hits = []
    for seed in range(25):
        fit = fitted(made(seed)[0]).planes["eye_h_right"]
        hits.append(abs(fit.parameters[1] - 41.0) < 2.1 * np.sqrt(fit.covariance[1, 1]))
    assert np.mean(hits) >= 0.88


def test_raw_units_become_the_degrees_that_the_eye_made():
    recording, eye = made(3)
    calibration = fitted(recording)
    turned = to_degrees(recording, {side: calibration.of_eye(side) for side in ("right", "left")})
    assert turned.raw_units == {}
    assert "calibrated_here" in turned.why
    for plane, role in enumerate(("eye_h_right", "eye_v_right")):
        slope, shift = np.polyfit(eye[:, plane], turned.channels[role], 1)
        assert slope == pytest.approx(1.0, abs=0.015)
        assert abs(shift) < 0.2
    assert turned.channels["eye_h_left"] is recording.channels["eye_h_left"]


def test_a_calibration_that_is_given_is_used_as_it_is():
    recording, eye = made(1)
    given = EyeCalibration(OFFSET, GAIN)
    turned = to_degrees(recording, {"right": given, "left": None})
    assert turned.channels["eye_h_right"] == pytest.approx(eye[:, 0], abs=0.3)


def test_a_raw_channel_without_a_calibration_is_left_out():
    turned = to_degrees(made()[0], {})
    assert set(turned.channels) == {"eye_h_left", "eye_v_left", "target_h", "target_v"}
    assert "calibrated_here" not in turned.why


def test_scaling_and_shifting_a_raw_channel_changes_its_gain_and_offset_alone():
    recording, _ = made(2)
    channels = dict(recording.channels)
    channels["eye_h_right"] = 2.5 * channels["eye_h_right"] - 7.0
    before, after = fitted(recording), fitted(replace(recording, channels=channels))
    old, new = (f.planes["eye_h_right"].parameters for f in (before, after))
    assert new == pytest.approx(2.5 * old - [7.0, 0.0, 0.0], rel=5e-3)


def test_mirroring_eye_and_target_swaps_the_sign_of_offset_and_cross_talk_alone():
    recording, _ = made(4, unit="deg")
    mirrored = {
        role: -trace if "_h" in role else trace for role, trace in recording.channels.items()
    }
    one, other = fitted(recording), fitted(replace(recording, channels=mirrored))
    offset, gain, cross = one.planes["eye_h_left"].parameters
    expected = [-offset, gain, -cross]
    assert other.planes["eye_h_left"].parameters == pytest.approx(expected, abs=2e-3)


def test_unknown_times_of_the_targets_are_found_from_the_eyes():
    told, silent = made(5)[0], made(5, told=False)[0]
    with_channel = fitted(told).planes["eye_h_left"].parameters
    found = fitted(silent, targets_deg=[list(place) for place in PLACES])
    assert found.planes["eye_h_left"].parameters == pytest.approx(with_channel, abs=0.08)
    assert found.planes["eye_h_left"].refused is None


def test_times_in_the_keys_serve_as_well_as_a_channel():
    silent = made(5, told=False)[0]
    keys = {"targets_deg": [list(p) for p in PLACES], "hold_s": 1.6, "start_at_s": 1.0}
    expected = fitted(made(5)[0]).planes["eye_v_right"].parameters
    assert fitted(silent, **keys).planes["eye_v_right"].parameters == pytest.approx(
        expected, rel=0.01, abs=0.2
    )


def test_a_fixation_beside_the_target_loses_its_weight():
    recording, _ = made(6, unit="deg")
    eye = recording.channels["eye_h_left"].copy()
    away = (recording.time_s > 1.0 + 6 * 1.6 + 0.1) & (recording.time_s < 1.0 + 7 * 1.6)
    eye[away] -= 14.0
    found = fitted(replace(recording, channels=dict(recording.channels) | {"eye_h_left": eye}))
    fit = found.planes["eye_h_left"]
    assert np.sum(fit.weight < 0.05) == 1
    assert fit.parameters[1] == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("unit", ["px", "deg"])
def test_a_patient_who_never_looked_is_told_from_wrong_targets(unit):
    never = fitted(made(7, unit=unit, idle=True)[0])
    assert set(refusals(never).values()) == {"did_not_look"}
    recording, _ = made(7, unit=unit)
    shuffled = [list(PLACES[i]) for i in np.random.default_rng(3).permutation(len(PLACES))]
    silent = {r: c for r, c in recording.channels.items() if not r.startswith("target")}
    keys = {"targets_deg": shuffled, "hold_s": 1.6, "start_at_s": 1.0}
    wrong = fitted(replace(recording, channels=silent), **keys)
    assert set(refusals(wrong).values()) == {"wrong_targets"}


def test_too_few_targets_a_lost_eye_and_unknown_targets_each_get_their_word():
    few = fitted(made(8, places=[(0, 0), (10, 0), (0, 0)])[0])
    assert refusals(few)["eye_h_right"] == "too_few_targets"
    places = [(-10, 0), (10, 0)] * 4
    keys = {"targets_deg": [x for x, _ in places], "hold_s": 1.6, "start_at_s": 1.0}
    two = fitted(made(8, places=places, told=False)[0], **keys)
    assert refusals(two)["eye_h_right"] == "too_few_targets"
    recording, _ = made(8)
    gone = np.full(recording.time_s.size, np.nan)
    lost = dict(recording.channels) | {"eye_h_left": gone, "eye_v_left": gone}
    one = fitted(replace(recording, channels=lost))
    assert refusals(one) == {
        "eye_h_right": None, "eye_v_right": None,
        "eye_h_left": "eye_not_seen", "eye_v_left": "eye_not_seen",
    }  # fmt: skip
    assert one.of_eye("left") is None
    assert one.of_eye("right") is not None
    assert fitted(made(8, told=False)[0]).refused == "targets_unknown"


def test_a_channel_in_degrees_with_the_wrong_sign_is_named_and_a_raw_one_is_turned():
    recording, _ = made(9)
    flipped = {r: -c if r.startswith("eye_h") else c for r, c in recording.channels.items()}
    found = fitted(replace(recording, channels=flipped))
    assert found.planes["eye_h_left"].refused == "reversed_to_target"
    assert found.planes["eye_h_right"].refused is None
    assert found.of_eye("right").gain[0, 0] == pytest.approx(-41.0, rel=0.02)


@pytest.mark.parametrize(("hold_s", "count"), [(40.0, 5), (3.0, 20), (1.2, 30)])
def test_unknown_times_are_found_in_long_and_in_periodic_recordings(hold_s, count):
    places = ([0, -10, 10, -20, 20] * 6)[:count]
    rng = np.random.default_rng(0)
    time_s, _, eye, _ = following(places, hold_s, start_s=7.3, rng=rng)
    one = recorded(time_s, {"eye_h_right": eye + rng.normal(0, 0.05, eye.size)})
    found = fitted(one, targets_deg=places)
    assert found.planes["eye_h_right"].parameters[1] == pytest.approx(1.0, abs=0.01)
    assert np.diff(found.steps.start_s)[1:] == pytest.approx(hold_s, abs=0.1)


@pytest.mark.parametrize("places", [PLACES, [(0, 3), (5, 3), (-9, 3), (12, 3)], [(0, 0), (4, 2),
                                    (-6, -3), (8, 4)]])  # fmt: skip
def test_the_closed_form_of_what_places_explain_agrees_with_least_squares(places):
    rng = np.random.default_rng(4)
    places, at = np.array(places, dtype=float), np.arange(0.0, 30.0, 0.1)
    traces = [320.0 + 40.0 * np.cumsum(rng.normal(size=at.size)), rng.normal(size=at.size)]
    start, holds = 1.234, np.array([0.4567, 0.9123, 1.6789, 2.345])
    found = explained(places, at, start, holds, [running_sums(trace) for trace in traces])
    for hold, share in zip(holds, found, strict=True):
        index = np.floor((at - start) / hold).astype(int)
        inside = (index >= 0) & (index < len(places))
        columns = np.column_stack([np.ones(inside.sum()), places[index[inside]]])
        left = whole = 0.0
        for trace in traces:
            values = trace[inside] / np.std(trace)
            fitted_there = columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
            left += np.sum((values - fitted_there) ** 2)
            whole += np.sum((values - values.mean()) ** 2)
        expected = (1.0 - left / whole) * inside.mean() if inside.sum() >= 2 * len(places) else 0.0
        assert share == pytest.approx(expected, abs=1e-9)
