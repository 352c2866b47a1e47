import json
from dataclasses import replace

import numpy as np
import pytest
from made_traces import (
    RATE_HZ,
    answered,
    by_name,
    measured,
    recorded,
    result_of,
    times,
    trial,
    turning,
)
from outside_data import outside
from scipy.io import loadmat
from scipy.optimize import approx_fprime

from slowphase.eye.slowphase import integrate
from slowphase.measures.reflex import Drive, Motion
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid import SinusoidModel
from slowphase.measures.suppression import suppression_pair
from slowphase.physiology.transfer import filtered, high_pass
from slowphase.recording.trial import Recording

# --- a real reflex ------------------------------------------------------------------------------

TILES = 8
# Eye position was not published, and the averages hold no quick phases: the integral of eye
# velocity is not where the animal looked, so the gaze term is held at 0.
GAZE_UNKNOWN = MeasureSettings(gaze_slope_sd=1e-6)


def monkey(name, frequency_hz, vision="dark"):
    """hpay/VOR-model-Payne at 0568091, MIT: averaged monkey eye and head velocity, 2000 Hz.

    2 s of velocity (a whole number of cycles) are set in a row eight times and integrated.
    """
    folder = outside("averaged_vor")
    eye, head = (
        np.tile(loadmat(folder / f"{name}_{part}.mat", squeeze_me=True)["allcellsipsi"], TILES)
        for part in ("eye", "head")
    )
    time = np.arange(eye.size) / 2000.0
    recording = Recording(
        time, 2000.0, {"eye_h_right": integrate(eye, time)}, head.astype(float), "measured"
    )
    return trial(
        "sinusoid",
        recording,
        name=name,
        vision=vision,
        frequency_hz=frequency_hz,
        peak_velocity_deg_s=10.0,
    )


def least_squares(name):
    """Gain and phase by plain least squares on the same average, from the data folder."""
    table = json.loads(
        (outside("averaged_vor") / "gain_phase_ols.json").read_text(encoding="utf-8")
    )
    entry = table[f"{name}|allcellsipsi"]
    return entry["gain"], entry["phase_deg"]


@pytest.mark.parametrize(
    ("name", "frequency_hz"),
    [
        ("05Hz_dark", 0.5),
        ("2Hz_dark", 2.0),
        ("5Hz_dark", 5.0),
        ("10Hz_dark", 10.0),
    ],
)
def test_gain_and_phase_of_a_monkey_s_reflex_agree_with_plain_least_squares(name, frequency_hz):
    found = measured(monkey(name, frequency_hz), GAZE_UNKNOWN)
    gain, phase = least_squares(name)
    assert found["gain"].value == pytest.approx(gain, rel=0.01)
    assert found["phase"].value == pytest.approx(phase, abs=0.3)


def test_gain_and_phase_of_a_monkey_that_cancels_its_reflex_agree_with_plain_least_squares():
    found = measured(monkey("05Hz_x0", 0.5), GAZE_UNKNOWN)
    gain, phase = least_squares("05Hz_x0")
    assert found["gain"].value == pytest.approx(gain, abs=0.002)
    assert found["phase"].value == pytest.approx(phase, abs=0.5)


def test_suppression_of_a_monkey_s_reflex_is_that_of_plain_least_squares():
    dark = result_of(monkey("05Hz_dark", 0.5), GAZE_UNKNOWN)
    fixed = result_of(monkey("05Hz_x0", 0.5, "head-fixed target"), GAZE_UNKNOWN)
    pair = suppression_pair((dark,), fixed, MeasureSettings())
    expected = 100.0 * (1.0 - least_squares("05Hz_x0")[0] / least_squares("05Hz_dark")[0])
    assert pair.measures[0].name == "suppression"
    assert pair.measures[0].value == pytest.approx(expected, abs=0.5)


# --- the first-order reflex ---------------------------------------------------------------------

FREQUENCIES_HZ = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
# Lead (deg) and relative gain of a first-order reflex, lead = atan(1/(2 pi f T)): arithmetic.
FIRST_ORDER = {
    5: ((72.6, 57.9, 38.5, 21.7, 11.3, 5.7, 2.8), (0.30, 0.53, 0.78, 0.93, 0.98, 1.00, 1.00)),
    10: ((57.9, 38.5, 21.7, 11.3, 5.7, 2.8, 1.4), (0.53, 0.78, 0.93, 0.98, 1.00, 1.00, 1.00)),
    15: ((46.7, 27.9, 14.9, 7.6, 3.8, 1.9, 0.9), (0.69, 0.88, 0.97, 0.99, 1.00, 1.00, 1.00)),
    20: ((38.5, 21.7, 11.3, 5.7, 2.8, 1.4, 0.7), (0.78, 0.93, 0.98, 1.00, 1.00, 1.00, 1.00)),
}


def made(frequency_hz, right, left, *, cycles=None, bias=0.0, adaptation_s=None, **more):
    """A sinusoid from rest with (gain, decay in s) per exciting direction."""
    cycles = cycles or max(3, round(30 * frequency_hz))
    time = times(3.0 + cycles / frequency_hz + 1.0)
    head = turning(frequency_hz, cycles, time)
    recording = recorded(bias + answered(head, right, left, adaptation_s), head, time, **more)
    return trial("sinusoid", recording, frequency_hz=frequency_hz, peak_velocity_deg_s=60.0)


@pytest.mark.parametrize("decay_s", FIRST_ORDER)
def test_phase_and_relative_gain_are_those_of_the_first_order_table(decay_s):
    leads, gains = FIRST_ORDER[decay_s]
    for frequency, lead, gain in zip(FREQUENCIES_HZ, leads, gains, strict=True):
        found = measured(made(frequency, (0.6, decay_s), (0.6, decay_s)))
        assert found["phase"].value == pytest.approx(lead, abs=0.05 + 0.1)
        assert found["gain"].value / 0.6 == pytest.approx(gain, abs=0.005 + 0.005)


def projected(velocity, head, time, frequency_hz):
    """-V/H of the recorded cycles by plain least squares with an offset."""
    angle = 2 * np.pi * frequency_hz * time
    design = np.column_stack([np.cos(angle), -np.sin(angle), np.ones_like(angle)])
    parts = [np.linalg.lstsq(design, signal, rcond=None)[0] for signal in (velocity, head)]
    eye, chair = (part[0] + 1j * part[1] for part in parts)
    return -eye / chair


def test_the_steady_state_is_found_although_the_start_makes_two_cycles_look_weaker():
    # s^2 T Ta / ((1 + sT)(1 + s Ta)) at 0.01 Hz, T = 15 s, Ta = 80 s: lead 57.9 deg (arithmetic).
    one = made(0.01, (0.6, 15.0), (0.6, 15.0), cycles=2, adaptation_s=80.0)
    s = 2j * np.pi * 0.01
    steady = abs(0.6 * s**2 * 15.0 * 80.0 / ((1 + 15.0 * s) * (1 + 80.0 * s)))
    time, head = one.recording.time_s, one.recording.head_velocity_deg_s
    moving = (time >= 3.0) & (time < 203.0)
    moved = answered(head, (0.6, 15.0), (0.6, 15.0), 80.0)
    plain = projected(moved[moving], head[moving], time[moving], 0.01)
    found = measured(one)
    assert abs(plain) < 0.93 * steady
    assert found["gain"].value == pytest.approx(steady, rel=0.02)
    assert found["phase"].value == pytest.approx(57.9, abs=1.0)
    assert found["gain"].low <= steady <= found["gain"].high


def test_a_first_order_formula_would_read_ten_seconds_where_the_decay_is_fifteen():
    # T = 1/(2 pi f tan(lead)) gives 10.0 s for T = 15 s with adaptation of 80 s: arithmetic.
    found = measured(made(0.01, (0.6, 15.0), (0.6, 15.0), cycles=4, adaptation_s=80.0))
    read = 1.0 / (2 * np.pi * 0.01 * np.tan(np.radians(found["phase"].value)))
    assert read == pytest.approx(10.0, abs=0.3)


# --- what each measure means --------------------------------------------------------------------


def test_a_bias_is_told_from_unequal_halves_and_the_offset_is_the_cycle_s_mean():
    found = measured(made(0.08, (0.3, 15.0), (0.6, 15.0), bias=4.0))
    share = 1.0 / np.hypot(1.0, 1.0 / (2 * np.pi * 0.08 * 15.0))
    mean = 4.0 + 60.0 * share * (0.6 - 0.3) / np.pi  # half waves have a mean of peak / pi
    assert found["bias"].value == pytest.approx(4.0, abs=0.2)
    assert found["gain_right"].value == pytest.approx(0.3 * share, rel=0.02)
    assert found["gain_left"].value == pytest.approx(0.6 * share, rel=0.02)
    assert found["offset"].value == pytest.approx(mean, abs=0.2)
    assert (found["gain_right"].exciting, found["gain_left"].exciting) == ("right", "left")


def test_a_steady_bias_gives_the_asymmetry_that_arithmetic_says():
    # -4 deg/s at gain 0.5 and 60 deg/s peak: +13 % (arithmetic: -bias / (gain * peak)).
    found = measured(made(0.32, (0.5, 20.0), (0.5, 20.0), bias=-4.0))
    assert found["asymmetry"].value == pytest.approx(13.3, abs=0.6)


def test_a_slow_phase_that_never_reverses_is_wholly_asymmetric_and_says_so():
    found = measured(made(0.16, (0.1, 15.0), (0.1, 15.0), bias=-15.0))
    assert found["asymmetry"].value == 100.0
    assert "does_not_reverse" in found["asymmetry"].why


def test_an_asymmetry_is_withheld_where_the_response_is_too_small_to_carry_it():
    found = measured(made(0.16, (0.03, 15.0), (0.03, 15.0)))
    assert found["asymmetry"].value is None
    assert "response_too_small" in found["asymmetry"].why
    assert found["gain"].value == pytest.approx(0.03, abs=0.003)


def test_less_than_one_cycle_gives_a_value_with_caution():
    found = measured(made(0.01, (0.6, 15.0), (0.6, 15.0), cycles=0.7))
    assert found["gain"].value is not None
    assert found["gain"].grade == "caution"
    assert "under_one_cycle" in found["gain"].why


def test_without_the_chair_s_motion_nothing_is_invented():
    time = times(30.0)
    one = trial("sinusoid", recorded(np.zeros(time.size), None, time), frequency_hz=0.1)
    found = measured(one)
    assert {"gain", "phase", "bias", "asymmetry"} <= set(found)
    assert all(m.value is None and m.why for m in found.values())
    assert "no_motion" in found["gain"].why


def test_hardly_any_slow_phase_gives_no_value_and_says_so():
    one = made(0.16, (0.5, 15.0), (0.5, 15.0))
    one.recording.channels["eye_h_right"][300:] = np.nan
    found = measured(one)
    assert all(m.value is None for m in found.values())
    assert "too_short" in found["gain"].why


def test_an_eye_that_does_not_answer_has_no_phase():
    rng = np.random.default_rng(8)
    time = times(40.0)
    drifting = np.convolve(rng.normal(0, 1.0, time.size), np.ones(500) / 500**0.5, mode="same")
    head = turning(0.16, 5.5, time)
    one = trial(
        "sinusoid",
        recorded(drifting, head, time),
        frequency_hz=0.16,
        peak_velocity_deg_s=60.0,
    )
    found = measured(one)
    assert found["phase"].value is None
    assert "no_response" in found["phase"].why
    assert found["gain"].low == 0.0
    assert found["gain"].high > found["gain"].value


def test_the_evidence_shows_the_fitted_slow_phase_at_every_sample():
    one = made(0.08, (0.5, 15.0), (0.5, 15.0), bias=2.0)
    result = result_of(one)
    fit = result.evidence.fit_deg_s
    expected = 2.0 - 0.5 * filtered(high_pass(15.0), one.recording.head_velocity_deg_s, RATE_HZ)
    assert fit.shape == one.recording.time_s.shape
    assert np.sqrt(np.mean((fit - expected) ** 2)) < 0.4
    assert by_name(result)["response_power"].value > 99.0


def test_a_chair_that_does_less_than_it_was_told_is_measured_as_it_moved():
    one = made(0.16, (0.5, 15.0), (0.5, 15.0))
    whole = measured(one)
    halved = Recording(
        one.recording.time_s,
        one.recording.sampling_hz,
        one.recording.channels,
        one.recording.head_velocity_deg_s * 0.5,
        "measured",
    )
    found = measured(trial("sinusoid", halved, **one.stimulus))
    assert found["gain"].value == pytest.approx(2 * whole["gain"].value, rel=1e-3)


def test_electrodes_that_drift_far_leave_straight_ahead_unknown_and_the_bias_less_sure():
    time = times(60.0)
    head = turning(0.16, 8, time)
    leak = 0.1
    velocity = -0.5 * head
    steady = recorded(velocity, head, time)
    eye = steady.channels["eye_h_right"]
    leaky = steady.channels["eye_h_right"] - leak * integrate(eye - eye.mean(), time)
    still = replace(steady, channels={"eye_h_right": leaky})
    adrift = replace(steady, channels={"eye_h_right": leaky + 0.9 * time})
    known, unknown = (
        measured(trial("sinusoid", one, frequency_hz=0.16)) for one in (still, adrift)
    )
    assert "gaze_unknown" not in known["bias"].why
    assert "gaze_unknown" in unknown["bias"].why
    assert unknown["bias"].grade == "caution"
    assert unknown["gain"].value == pytest.approx(known["gain"].value, rel=0.03)
    slope = unknown["gaze_slope"].value
    assert unknown["bias"].high - unknown["bias"].value > 1.9 * 8.0 * slope


def test_a_head_that_is_nowhere_known_is_no_motion():
    time = times(20.0)
    head = np.full(time.size, np.nan)
    found = measured(
        trial("sinusoid", recorded(np.zeros(time.size), head, time), frequency_hz=0.16)
    )
    assert found["gain"].value is None
    assert "no_motion" in found["gain"].why


def test_the_derivatives_of_the_sinusoid_are_those_that_scipy_finds():
    time = np.arange(0.0, 60.0, 0.02)
    motion = Motion(time, 60.0 * np.sin(2 * np.pi * 0.05 * time))
    nodes = np.arange(2.0, 58.0, 0.37)[:, None] + np.array([-0.05, 0.0, 0.05])
    gaze = np.random.default_rng(2).normal(0, 5, nodes.shape[0])
    model = SinusoidModel(Drive(motion, nodes), 0.05, gaze)
    at = np.array([4.0, 0.5, 0.7, 2.6, 0.2, 4.4, -0.05, 0.03, 0.02, 0.1])
    # approx_fprime of scipy.optimize: a general-purpose reference, not our own differences.
    expected = approx_fprime(at, model, 1e-6)
    assert model.jacobian(at) == pytest.approx(expected, rel=1e-3, abs=1e-3)
