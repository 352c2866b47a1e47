import numpy as np
import pytest
from made_traces import answered, by_name, recorded, result_of, times, trial, turning

from slowphase.measures.lapses import find_dips, find_falls, local_strength
from slowphase.measures.settings import MeasureSettings

SETTINGS = MeasureSettings()
LAPSE = 6  # the code of a lapse among the reasons of unused samples


def sinusoid(factor_of_time, *, frequency_hz=0.16, cycles=12, gain=0.6, noise_deg=0.05):
    time = times(3.0 + cycles / frequency_hz + 1.0)
    head = turning(frequency_hz, cycles, time)
    velocity = answered(head, (gain, 15.0), (gain, 15.0), 100.0)
    recording = recorded(velocity * factor_of_time(time), head, time, noise_deg=noise_deg)
    return trial("sinusoid", recording, frequency_hz=frequency_hz, peak_velocity_deg_s=60.0)


def lapse_of(*stretches, left=0.4):
    """A factor that falls to ``left`` within the given (start, stop)."""

    def factor(time):
        asleep = np.zeros(time.size, dtype=bool)
        for start, stop in stretches:
            asleep |= (time > start) & (time < stop)
        return np.where(asleep, left, 1.0)

    return factor


def marked(result):
    trace = result.evidence.horizontal
    return trace.time_s[trace.use == LAPSE]


def test_an_alert_response_has_no_lapse():
    result = result_of(sinusoid(lapse_of()))
    found = by_name(result)
    assert marked(result).size == 0
    assert found["lapse_share"].value == 0.0
    assert "lapses_left_out" not in found["gain"].why


@pytest.mark.parametrize("stretch", [(20.0, 28.0), (45.0, 60.0)])
def test_a_lapse_is_found_where_it_is_and_only_there(stretch):
    result = result_of(sinusoid(lapse_of(stretch)))
    found = by_name(result)
    times_left_out = marked(result)
    inside = (times_left_out > stretch[0] - 2.0) & (times_left_out < stretch[1] + 2.0)
    assert inside.all()
    assert times_left_out.size / 250.0 > 0.5 * (stretch[1] - stretch[0])
    assert "lapses_left_out" in found["gain"].why
    assert 0.0 < found["lapse_share"].value < 30.0


def test_the_gain_is_that_of_the_alert_state():
    awake = by_name(result_of(sinusoid(lapse_of())))["gain"].value
    nodding = by_name(result_of(sinusoid(lapse_of((15.0, 25.0), (50.0, 60.0)))))["gain"]
    assert nodding.value == pytest.approx(awake, rel=0.015)


def test_a_shallow_weakness_is_no_lapse():
    result = result_of(sinusoid(lapse_of((20.0, 30.0), left=0.93)))
    assert marked(result).size == 0


def test_a_lapse_of_a_second_is_too_short_to_be_told():
    result = result_of(sinusoid(lapse_of((20.0, 21.0))))
    assert marked(result).size == 0


def wavering(depth, period_s=17.0):
    """Alertness that swings without end: no stretch is the alert one."""
    return lambda time: (1 - depth / 2) * (1 + depth * np.sin(2 * np.pi * time / period_s))


@pytest.mark.parametrize("depth", [0.3, 0.6])
def test_alertness_that_swings_throughout_gives_a_value_with_caution(depth):
    found = by_name(result_of(sinusoid(wavering(depth))))
    assert found["gain"].value == pytest.approx(0.6 * (1 - depth / 2), rel=0.08)
    assert found["gain"].grade == "caution"
    assert "low_alertness" in found["gain"].why


def decaying(dip=1.0, start=10.0, stop=16.0):
    time = 0.15 * np.arange(300)
    speed = 40.0 * np.exp(-time / 15.0)
    return time, np.where((time > start) & (time < stop), dip * speed, speed)


def test_a_dip_of_a_decaying_response_is_found_where_it_is():
    time, speed = decaying(0.4)
    found = time[find_dips(time, speed, 0.5, SETTINGS)]
    assert found.min() == pytest.approx(10.0, abs=1.6)
    assert found.max() == pytest.approx(16.0, abs=1.6)


def test_a_response_that_only_decays_has_no_dip():
    time, speed = decaying()
    noise = np.random.default_rng(0).normal(0, 0.8, time.size)
    assert not find_dips(time, speed + noise, 0.8, SETTINGS).any()


def test_a_dip_within_the_wandering_of_the_eye_does_not_count():
    time, speed = decaying(0.4)
    assert not find_dips(time, speed, 20.0, SETTINGS).any()


def test_a_response_that_grows_had_lapsed_when_the_chair_changed():
    time, speed = decaying(0.7, -1.0, 1.0)
    found = time[find_dips(time, speed, 0.4, SETTINGS)]
    assert found.min() == 0.0
    assert found.max() == pytest.approx(1.0, abs=1.2)


def test_after_a_fall_that_no_reflex_shows_a_small_return_ends_the_lapse():
    # The return is to 1.3 of what was left: too little, had the fall before not been seen.
    time, speed = decaying(0.5, 3.0, 12.0)
    before = (time > 3.0) & (time < 12.0)
    speed[time >= 12.0] *= 1.3 * 0.5
    found = find_dips(time, speed, 0.2, SETTINGS)
    assert found[before].mean() > 0.9
    assert not found[(time < 2.0) | (time > 13.5)].any()


def test_a_lapse_falls_off_the_fit_at_once_and_another_shape_does_not():
    time, whole = decaying()
    _, speed = decaying(0.65)
    found = time[find_falls(time, whole, whole - speed, 0.3, SETTINGS)]
    assert found.min() == pytest.approx(10.0, abs=1.6)
    assert found.max() == pytest.approx(16.0, abs=1.6)
    gradual = 0.35 * whole * np.clip((time - 2.0) / 10.0, 0.0, 1.0)
    assert not find_falls(time, whole, gradual, 0.3, SETTINGS).any()


def test_a_late_dip_without_a_fall_does_not_take_the_beginning_with_it():
    time, speed = decaying()
    late = (time > 16.0) & (time < 22.0)
    speed[late] *= 1.0 - 0.4 * (time[late] - 16.0) / 6.0
    found = time[find_dips(time, speed, 0.2, SETTINGS)]
    assert found.min() > 15.0
    assert found.max() == pytest.approx(22.0, abs=1.6)


def test_too_few_pieces_cannot_show_a_dip():
    assert not find_dips(np.arange(5.0), np.arange(5.0), 0.1, SETTINGS).any()


def test_the_local_strength_is_the_regression_of_response_on_prediction():
    time = np.arange(0.0, 20.0, 0.1)
    predicted = 10.0 * np.sin(time)
    sd = np.full(time.size, 0.5)
    strength, error = local_strength(time, 0.7 * predicted, predicted, sd, 3.0)
    assert strength == pytest.approx(np.full(time.size, 0.7))
    inside = np.abs(time - 10.0) <= 1.5
    expected = 0.5 / np.sqrt(np.sum(predicted[inside] ** 2))
    assert error[100] == pytest.approx(expected, rel=0.05)


def test_no_strength_is_claimed_where_nothing_is_predicted():
    time = np.arange(0.0, 20.0, 0.1)
    strength, error = local_strength(time, time, np.zeros(time.size), np.ones(time.size), 3.0)
    assert np.isnan(strength).all()
    assert np.isinf(error).all()
