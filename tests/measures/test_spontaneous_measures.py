from dataclasses import replace

import numpy as np
import pytest
from made_traces import by_name, measured, recorded, result_of, times, trial

from slowphase.measures.fixation import pair_fixation
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.spontaneous import ratio_error

SETTINGS = MeasureSettings()


def nystagmus(velocity_deg_s, *, length_s=40.0, name="spontaneous", vision="dark", seed=0):
    time = times(length_s)
    recording = recorded(np.full(time.size, velocity_deg_s), None, time, seed=seed)
    return trial("spontaneous", recording, name=name, vision=vision)


@pytest.mark.parametrize("velocity", [-18.0, -3.0, 0.0, 4.5, 25.0])
def test_the_velocity_of_a_steady_nystagmus_is_found(velocity):
    found = measured(nystagmus(velocity))["horizontal/velocity"]
    assert found.value == pytest.approx(velocity, abs=0.02 + 0.01 * abs(velocity))
    assert found.definition == "held_gaze"


def test_beats_are_counted_per_minute_against_the_slow_phase():
    # From -3.2 to 8 deg at 20 deg/s is 0.56 s a beat, 107 beats a minute (arithmetic).
    found = measured(nystagmus(20.0))
    assert found["beats_per_min"].value == pytest.approx(60.0 / (11.2 / 20.0), rel=0.04)
    assert found["beating_share"].value == pytest.approx(100.0)


def test_a_nystagmus_that_changes_its_direction_shares_the_time():
    time = times(60.0)
    velocity = np.where(time < 40.0, -10.0, 10.0)
    found = measured(trial("spontaneous", recorded(velocity, None, time)))
    assert found["horizontal/velocity"].value < 0
    assert found["beating_share"].value == pytest.approx(100 * 40 / 60, abs=7.0)


def test_an_eye_that_is_hardly_seen_gives_no_velocity_and_says_so():
    one = nystagmus(-10.0)
    one.recording.channels["eye_h_right"][100:] = np.nan
    found = measured(one)
    assert all(m.value is None and "too_short" in m.why for m in found.values())


def test_a_vertical_velocity_is_given_where_the_vertical_eye_was_recorded():
    one = nystagmus(-10.0)
    assert "vertical/velocity" not in measured(one)
    time = one.recording.time_s
    one.recording.channels["eye_v_right"] = -2.0 * (time % 3.0) + np.random.default_rng(0).normal(
        0, 0.03, time.size
    )
    assert measured(one)["vertical/velocity"].value == pytest.approx(-2.0, abs=0.1)


def test_a_constant_added_to_eye_position_changes_nothing():
    plain, shifted = nystagmus(-7.0), nystagmus(-7.0)
    shifted.recording.channels["eye_h_right"][:] += 11.0
    before, after = measured(plain), measured(shifted)
    assert {k: m.value for k, m in before.items()} == pytest.approx(
        {k: m.value for k, m in after.items()}, rel=1e-9
    )


def test_the_effect_of_fixation_is_what_is_missing_of_the_nystagmus_in_the_dark():
    dark = result_of(nystagmus(-12.0))
    light = result_of(nystagmus(-3.0, name="lit", vision="light", seed=1))
    (pair,) = pair_fixation((dark, light), SETTINGS)
    assert (pair.dark, pair.fixation) == ("spontaneous", "lit")
    assert pair.measures[0].value == pytest.approx(75.0, abs=1.0)


def test_the_effect_of_fixation_on_hardly_any_nystagmus_is_withheld():
    dark = result_of(nystagmus(0.2))
    light = result_of(nystagmus(0.1, name="lit", vision="light", seed=1))
    (pair,) = pair_fixation((dark, light), SETTINGS)
    assert pair.measures[0].value is None
    assert "nystagmus_too_small" in pair.measures[0].why


def test_without_a_trial_in_the_dark_there_is_no_effect_of_fixation():
    light = result_of(nystagmus(-3.0, vision="light"))
    assert pair_fixation((light,), SETTINGS) == ()


def test_the_evidence_repeats_the_velocity_at_every_sample():
    result = result_of(nystagmus(-9.0))
    assert np.ptp(result.evidence.fit_deg_s) == 0.0
    assert result.evidence.fit_deg_s[0] == by_name(result)["horizontal/velocity"].value


def test_the_error_of_a_rate_is_that_of_its_blocks():
    rng = np.random.default_rng(0)
    seconds = np.full(24, 5.0)
    rates = [float(rng.poisson(6.0, 24).sum() / seconds.sum()) for _ in range(400)]
    errors = [ratio_error(rng.poisson(6.0, 24).astype(float), seconds) for _ in range(400)]
    assert np.mean(errors) == pytest.approx(np.std(rates), rel=0.1)


def test_one_block_has_no_interval_for_its_beats():
    time = times(4.0)
    result = result_of(trial("spontaneous", recorded(np.full(time.size, 20.0), None, time)))
    found = by_name(result)
    assert found["beats_per_min"].value > 0
    assert found["beats_per_min"].low is None


def test_rows_missing_in_time_are_neither_beats_nor_slow_phase():
    time = times(60.0)
    velocity = np.full(time.size, 8.0)
    whole = recorded(velocity, None, time)
    kept = np.floor(time / 2.0) % 2 == 0
    eye = {role: values[kept] for role, values in whole.channels.items()}
    holed = replace(whole, time_s=time[kept], channels=eye)
    before, after = (measured(trial("spontaneous", one)) for one in (whole, holed))
    assert after["horizontal/velocity"].value == pytest.approx(8.0, abs=0.1)
    assert after["beats_per_min"].value == pytest.approx(before["beats_per_min"].value, rel=0.15)
