from dataclasses import replace

import numpy as np
import pytest
from made_targets import RATE_HZ, fixating, recorded, saccade
from made_traces import by_name, measured, result_of, trial
from outside_data import outside
from scipy.io import loadmat
from scipy.signal import savgol_filter

from slowphase.cli.simulated_session import session_from
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import pursuit
from slowphase.physiology.pursuit import Pursuit
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.recording.session import Patient
from slowphase.recording.trial import Recording

# --- the project's own simulator ---------------------------------------------------------------


def simulated(frequency_hz, seed, person=None, **equipment):
    """A recorded trial and the truth of it."""
    made = simulate(person or Person(), [pursuit(frequency_hz)], Equipment(**equipment), seed=seed)
    return session_from(made, Patient("T"), None).trials[0], made[0].truth


@pytest.mark.parametrize("frequency_hz", [0.1, 0.2, 0.4])
def test_gain_and_phase_of_simulated_pursuit_come_back(frequency_hz):
    for seed in range(5):
        one, truth = simulated(frequency_hz, seed)
        found = measured(one)
        assert found["gain"].value == pytest.approx(truth.measures["gain"], abs=0.02)
        assert found["phase"].value == pytest.approx(truth.measures["phase"], abs=1.0)
        for way in ("rightward", "leftward"):
            assert found[f"{way}/gain"].value == pytest.approx(truth.measures["gain"], abs=0.025)


def test_intervals_cover_the_simulated_truth():
    hits = []
    for seed in range(12):
        for frequency in (0.1, 0.4):
            one, truth = simulated(frequency, seed)
            gain = measured(one)["gain"]
            hits.append(gain.low <= truth.measures["gain"] <= gain.high)
    assert np.mean(hits) >= 0.83


def test_weak_pursuit_of_a_patient_with_nystagmus_keeps_its_gain_to_both_sides():
    person = Person(pursuit=Pursuit(gain=0.5), spontaneous=Spontaneous(bias_deg_s=-8.0))
    found = measured(simulated(0.2, 3, person)[0])
    truth = simulated(0.2, 3, person)[1].measures["gain"]
    assert found["gain"].value == pytest.approx(truth, abs=0.02)
    assert abs(found["asymmetry"].value) < 4.0
    assert found["catch_up_saccades"].value > 1.0


# --- an eye made for the tests alone -----------------------------------------------------------


def made(gains=(0.8, 0.8), *, frequency_hz=0.3, peak=28.0, late_s=0.03, seed=0, plane="h"):
    """An eye whose smooth part has one gain to each side; saccades put it on the target."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(round(28.0 * RATE_HZ)) / RATE_HZ
    turn = 2 * np.pi * frequency_hz
    target = -peak / turn * np.cos(turn * time_s)
    wave = peak * np.sin(turn * (time_s - late_s))
    smooth = np.cumsum(np.where(wave > 0, gains[0] * wave, gains[1] * wave)) / RATE_HZ
    eye = smooth - smooth[0] + target[0]
    for at in np.arange(0.4, time_s[-1] - 0.3, 0.31):
        now, soon = np.searchsorted(time_s, [at, at + 0.06])
        error = target[soon] - eye[now]
        if abs(error) > 0.8:
            eye = eye + saccade(time_s, at, error)
    noise = rng.normal(0.0, 0.05, (2, time_s.size))
    still = fixating(time_s, rng)
    other = "v" if plane == "h" else "h"
    channels = {
        f"eye_{plane}_right": eye + noise[0],
        f"eye_{other}_right": still + noise[1],
        f"target_{plane}": target,
    }
    return trial("pursuit", recorded(time_s, channels), vision="light", frequency_hz=frequency_hz)


@pytest.mark.parametrize("gains", [(0.9, 0.9), (0.8, 0.5), (0.4, 0.7)])
def test_each_direction_of_an_eye_that_somebody_else_made_comes_back(gains):
    found = measured(made(gains))
    assert found["rightward/gain"].value == pytest.approx(gains[0], abs=0.02)
    assert found["leftward/gain"].value == pytest.approx(gains[1], abs=0.02)
    expected = 100 * (gains[0] - gains[1]) / sum(gains)
    assert found["asymmetry"].value == pytest.approx(expected, abs=2.5)


@pytest.mark.parametrize("late_s", [0.0, 0.05, 0.12])
def test_a_later_eye_shifts_the_phase_and_nothing_else(late_s):
    found = measured(made(late_s=late_s))
    assert found["phase"].value == pytest.approx(-360 * 0.3 * late_s, abs=1.0)
    assert found["gain"].value == pytest.approx(0.8, abs=0.015)


def test_vertical_pursuit_is_named_by_its_own_ways():
    found = measured(made((0.9, 0.6), plane="v"))
    assert found["upward/gain"].value == pytest.approx(0.9, abs=0.02)
    assert found["downward/gain"].value == pytest.approx(0.6, abs=0.02)
    assert "rightward/gain" not in found


def test_mirroring_eye_and_target_swaps_the_directions_and_nothing_else():
    one = made((0.8, 0.5))
    flipped = {r: -c if "_h" in r else c for r, c in one.recording.channels.items()}
    other = replace(one, recording=replace(one.recording, channels=flipped))
    straight, mirrored = measured(one), measured(other)
    swapped = {"rightward/gain": "leftward/gain", "leftward/gain": "rightward/gain"}
    for name in ("gain", "phase", "rightward/gain", "leftward/gain"):
        value = mirrored[swapped.get(name, name)].value
        assert value == pytest.approx(straight[name].value, abs=1e-3)
    assert mirrored["asymmetry"].value == pytest.approx(-straight["asymmetry"].value, abs=0.1)


def test_scaling_the_eye_scales_the_gain():
    one = made()
    channels = {r: 0.7 * c if r == "eye_h_right" else c for r, c in one.recording.channels.items()}
    smaller = measured(replace(one, recording=replace(one.recording, channels=channels)))
    assert smaller["gain"].value == pytest.approx(0.7 * 0.8, abs=0.015)


def test_an_asymmetry_inherits_the_reasons_of_both_directions():
    one = made()
    time_s = one.recording.time_s
    lost = (np.sin(2 * np.pi * 0.3 * time_s) < 0) & (time_s > 8.0)
    channels = {r: np.where(lost, np.nan, c) if r.startswith("eye") else c
                for r, c in one.recording.channels.items()}  # fmt: skip
    one = replace(one, recording=replace(one.recording, channels=channels))
    found = measured(one)
    right, left = ((m.high - m.low) / 4 for m in (found["rightward/gain"], found["leftward/gain"]))
    assert left > 1.3 * right
    settings = MeasureSettings()
    own = replace(settings.battery.pursuit, gain_error_rough=0.5 * (left + right))
    settings = replace(settings, battery=replace(settings.battery, pursuit=own))
    found = measured(one, settings)
    assert "known_roughly" not in found["rightward/gain"].why
    assert "known_roughly" in found["leftward/gain"].why
    assert "known_roughly" in found["asymmetry"].why


# --- recorded eyes -----------------------------------------------------------------------------


def test_a_monkey_s_pursuit_agrees_with_plain_least_squares_between_saccades():
    # lit24/primateEyeTracker_Data at 3d1b63a, Unlicense: scleral search coil, 1000 Hz. The data
    # folder's own fit of the whole trace: 0.500 Hz, amplitude 5.01 deg. The target was not stored.
    file = outside("coil_pursuit") / "Testdata_Coil_Horizontal.mat"
    position = loadmat(file, squeeze_me=True)["smoothPursuit0_5"].astype(float)
    time_s = np.arange(position.size) / 1000.0
    recording = Recording(time_s, 1000.0, {"eye_h_right": position})
    one = trial("pursuit", recording, vision="light", frequency_hz=0.5, amplitude_deg=5.01)
    velocity = savgol_filter(position, 41, 2, deriv=1, delta=1e-3)
    still = np.convolve(np.abs(velocity) > 28.0, np.ones(81), mode="same") == 0
    angle = np.pi * time_s[still]
    columns = np.column_stack([np.ones(angle.size), np.sin(angle), np.cos(angle)])
    weights = np.linalg.lstsq(columns, velocity[still], rcond=None)[0]
    expected = float(np.hypot(*weights[1:])) / (np.pi * 5.01)
    found = measured(one)
    assert found["gain"].value == pytest.approx(expected, abs=0.04)
    assert "target_rebuilt" in found["gain"].why
    assert found["phase"].why[0] == "target_not_timed"
    assert 0.5 < found["catch_up_saccades"].value < 5.0


def test_averaged_pursuit_of_monkeys_agrees_with_plain_least_squares():
    # hpay/VOR-model-Payne at 0568091, MIT: averaged eye and target velocity at 0.5 Hz, 2000 Hz;
    # gain 0.906 and phase +0.67 deg by the data folder's plain least squares.
    folder = outside("averaged_vor")
    eye, target = (
        np.tile(loadmat(folder / f"05Hz_pursuit_{p}.mat", squeeze_me=True)["allcellsipsi"], 8)
        for p in ("eye", "target")
    )
    time_s = np.arange(eye.size) / 2000.0
    channels = {
        "eye_h_right": np.cumsum(eye - eye.mean()) / 2000.0,
        "target_h": np.cumsum(target - target.mean()) / 2000.0,
    }
    found = measured(trial("pursuit", Recording(time_s, 2000.0, channels), frequency_hz=0.5))
    assert found["gain"].value == pytest.approx(0.9057, abs=0.01)
    assert found["phase"].value == pytest.approx(0.67, abs=0.5)


# --- bad input ---------------------------------------------------------------------------------


def changed(one, **channels):
    kept = {r: c for r, c in (dict(one.recording.channels) | channels).items() if c is not None}
    return replace(one, recording=replace(one.recording, channels=kept))


def test_a_target_that_is_unknown_or_no_sinusoid_is_refused_with_its_word():
    one = replace(made(), stimulus={})
    assert measured(changed(one, target_h=None))["gain"].why == ("targets_unknown",)
    time_s = one.recording.time_s
    triangle = 10.0 * np.abs((time_s / 3.0) % 2.0 - 1.0) + 8.0 * (time_s > 15.0)
    assert measured(changed(one, target_h=triangle))["gain"].why == ("not_sinusoidal",)


def test_a_vertical_eye_alone_is_said_and_not_measured():
    one = made((0.9, 0.6), plane="v")
    alone = measured(changed(one, eye_h_right=None))
    frozen = measured(changed(one, eye_h_right=np.zeros(one.recording.time_s.size)))
    assert {m.why for m in [*alone.values(), *frozen.values()]} == {("no_horizontal_eye",)}
    assert "asymmetry" in alone
    # a horizontal eye that only lacks its calibration: the session's own problem says so
    raw = replace(one, recording=replace(one.recording, raw_units={"eye_h_right": "px"}))
    assert measured(raw)["gain"].why == ("no_usable_recording",)


def test_keys_tell_the_target_where_no_channel_does():
    one = made()
    size = 28.0 / (2 * np.pi * 0.3)
    keys = {"frequency_hz": 0.3, "amplitude_deg": size, "start_at_s": 0.0, "direction": "right"}
    found = measured(replace(changed(one, target_h=None), stimulus=keys))
    assert found["gain"].value == pytest.approx(0.8, abs=0.02)
    assert found["phase"].value == pytest.approx(measured(one)["phase"].value, abs=0.3)
    assert found["gain"].grade == "caution"


def test_a_patient_who_does_not_follow_has_no_phase():
    one = made()
    still = fixating(one.recording.time_s, np.random.default_rng(1))
    found = measured(
        changed(one, eye_h_right=still + np.random.default_rng(2).normal(0, 0.05, still.size))
    )
    assert abs(found["gain"].value) < 0.05
    assert found["phase"].why == ("no_pursuit",)
    assert found["asymmetry"].why == ("response_too_small",)


def test_a_trial_that_stops_before_a_cycle_is_too_short():
    one = made(frequency_hz=0.3)
    part = slice(0, round(2.5 * RATE_HZ))
    short = Recording(
        one.recording.time_s[part],
        RATE_HZ,
        {role: trace[part] for role, trace in one.recording.channels.items()},
    )
    found = by_name(result_of(replace(one, recording=short)))
    assert found["gain"].why == ("too_short",)
    assert found["gain"].value is None


def test_lost_samples_invent_no_pursuit():
    one = made()
    eye = one.recording.channels["eye_h_right"].copy()
    eye[(one.recording.time_s % 1.0) < 0.3] = np.nan
    assert measured(changed(one, eye_h_right=eye))["gain"].value == pytest.approx(0.8, abs=0.03)


@pytest.mark.parametrize("role", ["eye_h_right", "target_h"])
def test_a_reversed_eye_or_target_goes_the_wrong_way(role):
    one = made()
    channels = {**one.recording.channels, role: -one.recording.channels[role]}
    found = measured(replace(one, recording=replace(one.recording, channels=channels)))
    for name in ("gain", "phase", "rightward/gain", "leftward/gain", "asymmetry"):
        assert "wrong_way" in found[name].why, name
        assert found[name].grade == "unusable"
    assert "wrong_way" not in measured(one)["gain"].why


def test_a_late_pursuer_does_not_go_the_wrong_way():
    found = measured(made((0.6, 0.6), late_s=0.5))  # 54 deg of lag
    assert "wrong_way" not in found["gain"].why
    assert found["phase"].value == pytest.approx(-54.0, abs=3.0)
