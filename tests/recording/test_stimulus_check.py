import numpy as np
import pytest

from slowphase.recording.stimulus_check import StimulusVerdict, check_stimulus
from slowphase.recording.target_check import check_target

RATE_HZ = 100.0


def check_sinusoid(
    *,
    asked_hz: float,
    moved_hz: float,
    cycles: float,
    noise_deg_s: float = 0.0,
    peak_deg_s: float = 60.0,
    rest_s: float = 0.0,
) -> StimulusVerdict:
    time_s = np.arange(round((cycles / moved_hz + 2 * rest_s) * RATE_HZ)) / RATE_HZ
    moving = (time_s >= rest_s) & (time_s < rest_s + cycles / moved_hz)
    head = peak_deg_s * np.sin(2 * np.pi * moved_hz * (time_s - rest_s)) * moving
    head += np.random.default_rng(2).normal(0, noise_deg_s or 1e-9, head.size)
    stimulus = {"frequency_hz": asked_hz, "peak_velocity_deg_s": 60.0}
    return check_stimulus("sinusoid", stimulus, time_s, head)


@pytest.mark.parametrize("frequency_hz", [0.01, 0.04, 0.16, 0.64, 2.0])
@pytest.mark.parametrize("cycles", [0.4, 0.75, 1.5, 2.3, 10.0])
def test_the_motion_asked_for_agrees_however_few_its_cycles(
    frequency_hz: float, cycles: float
) -> None:
    verdict = check_sinusoid(asked_hz=frequency_hz, moved_hz=frequency_hz, cycles=cycles)
    assert verdict.contradiction is None


@pytest.mark.parametrize("rest_s", [2.0, 20.0])
@pytest.mark.parametrize("noise_deg_s", [1.0, 10.0])
def test_noise_and_rest_do_not_contradict(rest_s: float, noise_deg_s: float) -> None:
    verdict = check_sinusoid(
        asked_hz=0.04, moved_hz=0.04, cycles=4, noise_deg_s=noise_deg_s, rest_s=rest_s
    )
    assert verdict == StimulusVerdict()


@pytest.mark.parametrize(
    ("asked_hz", "moved_hz", "cycles"),
    [(0.04, 0.08, 4), (0.08, 0.04, 4), (0.01, 0.02, 3), (0.32, 0.64, 10), (0.16, 0.2, 10)],
)
@pytest.mark.parametrize("noise_deg_s", [0.0, 5.0])
def test_another_frequency_contradicts(
    asked_hz: float, moved_hz: float, cycles: float, noise_deg_s: float
) -> None:
    verdict = check_sinusoid(
        asked_hz=asked_hz, moved_hz=moved_hz, cycles=cycles, noise_deg_s=noise_deg_s
    )
    assert verdict.contradiction is not None
    key, found, expected = verdict.contradiction
    assert (key, expected) == ("frequency_hz", f"{asked_hz:g} Hz")
    assert float(found.split()[-2]) == pytest.approx(moved_hz, rel=0.05)


@pytest.mark.parametrize(("peak_deg_s", "differs"), [(60, False), (58, False), (50, True)])
def test_a_peak_off_by_more_than_a_twentieth_differs(peak_deg_s: float, differs: bool) -> None:
    verdict = check_sinusoid(asked_hz=0.04, moved_hz=0.04, cycles=5, peak_deg_s=peak_deg_s)
    assert verdict == StimulusVerdict(differs=differs)


@pytest.mark.parametrize("frequency_hz", [0.01, 0.08, 0.64])
def test_a_trial_stopped_in_the_middle_does_not_differ(frequency_hz: float) -> None:
    time_s = np.arange(round(4 / frequency_hz * RATE_HZ)) / RATE_HZ
    head = 60 * np.sin(2 * np.pi * frequency_hz * time_s) * (time_s < 1.4 / frequency_hz)
    stimulus = {"frequency_hz": frequency_hz, "peak_velocity_deg_s": 60.0}
    assert check_stimulus("sinusoid", stimulus, time_s, head) == StimulusVerdict()


def test_a_chair_at_rest_contradicts() -> None:
    verdict = check_sinusoid(
        asked_hz=0.04, moved_hz=0.04, cycles=5, peak_deg_s=0.0, noise_deg_s=1.0
    )
    assert verdict.contradiction is not None
    assert "rest" in verdict.contradiction[1]


def check_step(head: np.ndarray, *, direction: str) -> StimulusVerdict:
    stimulus = {"direction": direction, "velocity_deg_s": 100.0}
    return check_stimulus("step", stimulus, np.arange(head.size) / RATE_HZ, head)


def spin(velocity_deg_s: float, *, stops: bool = True) -> np.ndarray:
    time_s = np.arange(6000) / RATE_HZ
    end = 0.0 if stops else velocity_deg_s
    return np.interp(time_s, [2, 3, 30, 31], [0.0, velocity_deg_s, velocity_deg_s, end])


@pytest.mark.parametrize("stops", [True, False])
@pytest.mark.parametrize(("direction", "sign"), [("right", 1), ("left", -1)])
def test_a_spin_to_the_side_asked_for_agrees(direction: str, sign: int, stops: bool) -> None:
    noise = np.random.default_rng(4).normal(0, 3, 6000)
    head = spin(sign * 100.0, stops=stops) + noise
    assert check_step(head, direction=direction) == StimulusVerdict()


def test_a_short_spin_before_a_long_rest_is_still_seen() -> None:
    head = np.r_[np.zeros(200), np.full(1000, -100.0), np.zeros(30_000)]
    assert check_step(head, direction="left") == StimulusVerdict()
    assert check_step(head, direction="right").contradiction is not None


def test_noise_alone_is_a_chair_at_rest() -> None:
    head = np.random.default_rng(4).normal(0, 3, 6000)
    verdict = check_step(head, direction="right")
    assert verdict.contradiction is not None
    assert "rest" in verdict.contradiction[1]


SECONDS = np.arange(12_000) / RATE_HZ
SPIN = np.interp(SECONDS, [0, 5, 6, 60, 61, 120], [0, 0, 100, 100, 0, 0])
ASKED_SPIN = {"direction": "right", "velocity_deg_s": 100.0}


def sine(frequency_hz: float, peak: float) -> np.ndarray:
    return peak * np.sin(2 * np.pi * frequency_hz * SECONDS)


@pytest.mark.parametrize("frequency_hz", [0.02, 0.08, 0.64])
def test_a_sinusoid_read_as_the_wrong_quantity_contradicts(frequency_hz: float) -> None:
    asked = {"frequency_hz": frequency_hz, "peak_velocity_deg_s": 60.0}
    turns = 2 * np.pi * frequency_hz
    as_velocity = check_stimulus("sinusoid", asked, SECONDS, sine(frequency_hz, 60.0 / turns))
    as_position = check_stimulus(
        "sinusoid", asked, SECONDS, sine(frequency_hz, 60.0 * turns), of_position=True
    )
    for verdict in (as_velocity, as_position):
        assert verdict.contradiction is not None
        assert verdict.contradiction[0] == "peak_velocity_deg_s"


def test_a_spin_read_as_the_wrong_quantity_contradicts() -> None:
    position = np.cumsum(SPIN) / RATE_HZ
    slope = np.gradient(SPIN, SECONDS)
    assert check_stimulus("step", ASKED_SPIN, SECONDS, position).contradiction
    assert check_stimulus("step", ASKED_SPIN, SECONDS, slope, of_position=True).contradiction
    assert check_stimulus("step", ASKED_SPIN, SECONDS, SPIN, of_position=True).contradiction is None


def test_rpm_taken_for_degrees_contradicts_and_half_the_speed_does_not() -> None:
    for factor, contradicts in ((1 / 6, True), (6.0, True), (0.5, False), (2.0, False)):
        spin = check_stimulus("step", ASKED_SPIN, SECONDS, factor * SPIN)
        assert (spin.contradiction is not None) == contradicts
        assert spin.differs == (not contradicts)


def test_a_spontaneous_trial_needs_a_head_at_rest() -> None:
    turning = check_stimulus("spontaneous", {}, SECONDS, sine(0.08, 60.0))
    assert turning.contradiction is not None
    assert turning.contradiction[0] == "kind"
    noisy = np.random.default_rng(1).normal(0.0, 3.0, SECONDS.size)
    assert check_stimulus("spontaneous", {}, SECONDS, noisy).contradiction is None


@pytest.mark.parametrize("second", [100.0, -100.0])
@pytest.mark.parametrize("noise_deg_s", [0.1, 5.0])
def test_two_spins_are_two_trials(second: float, noise_deg_s: float) -> None:
    corners = [0, 5, 6, 30, 31, 60, 61, 90, 91, 120]
    speeds = [0, 0, 100, 100, 0, 0, second, second, 0, 0]
    noise = np.random.default_rng(4).normal(0.0, noise_deg_s, SECONDS.size)
    two = check_stimulus("step", ASKED_SPIN, SECONDS, np.interp(SECONDS, corners, speeds) + noise)
    assert two.contradiction is not None
    assert two.contradiction[:2] == ("kind", "2 spins")
    one = check_stimulus("step", ASKED_SPIN, SECONDS, SPIN + noise)
    assert one.contradiction is None


def test_stairs_and_an_overshoot_at_the_stop_are_one_spin() -> None:
    stairs = np.interp(SECONDS, [0, 5, 6, 30, 31, 60, 61, 90], [0, 0, 50, 50, 100, 100, 0, 0])
    overshoot = SPIN - 40.0 * ((SECONDS > 61.0) & (SECONDS < 61.5))
    for velocity in (stairs, overshoot):
        assert check_stimulus("step", ASKED_SPIN, SECONDS, velocity).contradiction is None


@pytest.mark.parametrize(
    ("keys", "key", "found"),
    [
        ({"frequency_hz": 0.5, "amplitude_deg": 15.0}, "frequency_hz", "0.4 Hz"),
        ({"frequency_hz": 0.2, "amplitude_deg": 15.0}, "frequency_hz", "0.4 Hz"),
        ({"frequency_hz": 0.4, "amplitude_deg": 30.0}, "amplitude_deg", "15 deg"),
        ({"amplitude_deg": 7.5}, "amplitude_deg", "15 deg"),
    ],
)
def test_a_pursuit_target_is_held_against_its_keys(keys, key, found):
    time_s = np.arange(3000) / 100.0
    place = 15.0 * np.sin(2 * np.pi * 0.4 * (time_s - 2.0)) * (time_s > 2.0)
    said = check_target(keys, time_s, {"target_h": place})
    assert said is not None
    assert said[0] == key
    assert found in said[1]


@pytest.mark.parametrize("frequency", [0.1, 0.4, 1.0])
@pytest.mark.parametrize("role", ["target_h", "target_v"])
def test_a_right_target_contradicts_nothing(frequency, role):
    time_s = np.arange(4000) / 100.0
    rng = np.random.default_rng(1)
    place = 15.0 * np.sin(2 * np.pi * frequency * time_s) + rng.normal(0.0, 0.05, time_s.size)
    place[100:130] = np.nan
    keys = {"frequency_hz": frequency, "amplitude_deg": 15.0}
    assert check_target(keys, time_s, {role: place}) is None
    assert check_target({}, time_s, {role: place}) is None


def test_a_triangle_of_the_right_frequency_is_left_to_the_measure():
    time_s = np.arange(3000) / 100.0
    place = 15.0 * 2 / np.pi * np.arcsin(np.sin(2 * np.pi * 0.4 * time_s))
    assert check_target({"frequency_hz": 0.4, "amplitude_deg": 15.0}, time_s,
                        {"target_h": place}) is None  # fmt: skip


def test_a_check_contradicts_by_its_frequency_and_not_by_its_speed():
    time_s = np.arange(4000) / 100.0
    head = 10.0 * np.sin(2 * np.pi * 0.64 * time_s)
    keys = {"eye_fixed_to": "room", "frequency_hz": 0.5, "peak_velocity_deg_s": 20.0}
    said = check_stimulus("check", keys, time_s, head).contradiction
    assert said is not None
    assert said[0] == "frequency_hz"
    right = {**keys, "frequency_hz": 0.64}
    assert check_stimulus("check", right, time_s, head).contradiction is None
    assert check_stimulus("check", right, time_s, head * 57.3).contradiction is None
