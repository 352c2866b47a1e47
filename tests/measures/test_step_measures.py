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
    spinning,
    times,
    trial,
)
from scenarios import scenario

from slowphase.eye.settings import EyeSettings
from slowphase.measures.least_squares import certified_fit
from slowphase.measures.prepare import prepare
from slowphase.measures.reflex import Motion, resample_motion
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.step import find_changes, fit_step, from_rest
from slowphase.measures.step_measures import misfit_errors
from slowphase.measures.step_shape import NO_MISFIT, find_misfit
from slowphase.measures.step_sides import pair_sides
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import filtered, high_pass

# --- the traps of fitting -----------------------------------------------------------------------
# Noise-free, ideal step, 0-45 s on a 10 ms grid, 36 deg/s peak: (truth T, bias, adaptation) and
# what a single exponential without offset and the first crossing of 1/e say (arithmetic).
SETTINGS = MeasureSettings()
TRAPS = {
    (15.0, 3.0, None): (18.9, 17.3),
    (15.0, -3.0, None): (11.6, 13.0),
    (15.0, 5.0, None): (21.6, 19.1),
    (5.0, 3.0, None): (7.5, None),
    (5.0, -3.0, None): (3.7, None),
    (15.0, 0.0, 80.0): (9.9, 11.6),
}
REVERSAL_S = 30.9  # of T = 15 s with adaptation of 80 s (arithmetic)
# Time to 1/e of the response alone: T itself without adaptation; 11.6 s with (arithmetic).
ONE_OVER_E_S = {(15.0, 80.0): 11.6, (15.0, None): 15.0, (5.0, None): 5.0}


def ideal(decay_s, bias, adaptation_s):
    """Slow-phase speed (deg/s) after an ideal step, and its times (s)."""
    time = np.arange(4501) / 100.0
    if adaptation_s is None:
        return time, 36.0 * np.exp(-time / decay_s) + bias
    fast, slow = np.exp(-time / decay_s) / decay_s, np.exp(-time / adaptation_s) / adaptation_s
    return time, 36.0 * (fast - slow) / (1 / decay_s - 1 / adaptation_s) + bias


def whole_spin(decay_s, bias, adaptation_s):
    """A spin that excites the right, stops after 60 s and rests; ``bias`` adds to its response."""
    time = times(110.0)
    head = spinning(time, velocity=72.0, stop_s=63.0, ramp_s=0.05)
    one = high_pass(decay_s) if adaptation_s is None else effective(decay_s, adaptation_s)
    velocity = -bias - 0.5 * filtered(one, head, RATE_HZ)
    recording = recorded(velocity, head, time, noise_deg=0.06)
    return trial("step", recording, direction="right", velocity_deg_s=72.0)


@pytest.mark.parametrize("truth", TRAPS)
def test_the_traps_of_fitting_fool_a_single_exponential_and_the_crossing(truth):
    single, crossing = TRAPS[truth]
    time, speed = ideal(*truth)
    found, _ = certified_fit(lambda p: p[0] * np.exp(-time / p[1]), np.array([36.0, 10.0]), speed)
    assert found[1] == pytest.approx(single, abs=0.06)
    if crossing is not None:
        assert time[np.argmax(speed < speed[0] / np.e)] == pytest.approx(crossing, abs=0.06)
    if truth[2] is not None:
        assert time[np.argmax(speed < 0)] == pytest.approx(REVERSAL_S, abs=0.06)


@pytest.mark.parametrize("truth", TRAPS)
def test_the_joint_fit_returns_the_truth_in_the_traps_of_fitting(truth):
    decay, bias, adaptation = truth
    found = measured(whole_spin(*truth))
    for of in ("per", "post"):
        assert found[f"{of}/decay"].value == pytest.approx(decay, rel=0.03)
        assert found[f"{of}/time_constant"].value == pytest.approx(
            ONE_OVER_E_S[decay, adaptation], rel=0.03
        )
        assert found[f"{of}/gain"].value == pytest.approx(0.5, rel=0.03)
    assert found["bias"].value == pytest.approx(-bias, abs=0.3)


def test_the_plain_value_beside_it_shows_what_a_bias_does():
    with_it, against_it = (measured(whole_spin(15.0, bias, None)) for bias in (5.0, -5.0))
    plain = "per/time_constant_raw"
    assert with_it[plain].value > 18.0
    assert against_it[plain].value < 13.0
    assert (with_it[plain].low, with_it[plain].high) == (None, None)


def test_a_ramp_of_a_second_costs_a_short_reflex_nine_percent_of_its_peak():
    # T (1 - exp(-1/T)) for T = 5 s is 0.906 (arithmetic).
    time = times(110.0)
    head = spinning(time, stop_s=64.0, ramp_s=1.0)
    velocity = answered(head, (0.5, 5.0), (0.5, 5.0), None)
    found = measured(trial("step", recorded(velocity, head, time), direction="right"))
    assert found["per/gain"].value == pytest.approx(0.5 * 0.906, rel=0.015)


def test_what_is_left_of_the_first_response_is_taken_out_of_the_second():
    # With adaptation of 80 s the first response has reversed and adds to the second peak.
    time = times(130.0)
    head = spinning(time, stop_s=63.7, ramp_s=0.1)
    velocity = answered(head, (0.6, 15.0), (0.6, 15.0), 80.0)
    found = measured(trial("step", recorded(velocity, head, time), direction="right"))
    raw_peak = np.max(velocity[(time > 63) & (time < 66)]) / 100.0
    assert raw_peak > 1.05 * found["post/gain"].value
    assert found["post/gain"].value == pytest.approx(found["per/gain"].value, rel=0.015)


def unequal(direction="right", *, stop_s=63.0, length_s=120.0, bias=1.0, sign=1.0, seed=0):
    time = times(length_s)
    speed = 100.0 if direction == "right" else -100.0
    head = spinning(time, velocity=speed, stop_s=stop_s)
    velocity = sign * (bias + answered(sign * head, (0.35, 8.0), (0.6, 14.0), 150.0))
    recording = recorded(velocity, head, time, seed=seed)
    return trial("step", recording, name=f"step-{direction}", direction=direction)


@pytest.mark.parametrize("direction", ["right", "left"])
def test_each_response_belongs_to_the_side_that_its_acceleration_excites(direction):
    found = measured(unequal(direction))
    sides = {"right": (0.35, 8.0), "left": (0.6, 14.0)}
    other = {"right": "left", "left": "right"}[direction]
    for of, side in (("per", direction), ("post", other)):
        gain, decay = sides[side]
        assert found[f"{of}/gain"].exciting == side
        assert found[f"{of}/decay"].value == pytest.approx(decay, rel=0.06)
        ramp = 100.0 * 0.7 / 70.0
        assert found[f"{of}/gain"].value == pytest.approx(
            gain * (1 - 0.35 * ramp / decay), rel=0.03
        )


def test_both_spins_together_give_the_difference_between_the_sides():
    results = tuple(result_of(unequal(direction)) for direction in ("right", "left"))
    (pair,) = pair_sides(results, MeasureSettings())
    asymmetry, difference = pair.measures
    assert (pair.kind, pair.dark, pair.fixation) == ("step_sides", "step-right", "step-left")
    assert asymmetry.value == pytest.approx(100 * (0.35 - 0.6) / (0.35 + 0.6), abs=3.0)
    assert difference.value == pytest.approx(8.0 * 0.95 - 14.0 * 0.95, abs=1.2)
    assert asymmetry.low < asymmetry.value < asymmetry.high


def test_one_spin_alone_makes_no_pair():
    assert pair_sides((result_of(unequal()),), MeasureSettings()) == ()


def test_a_spin_that_was_broken_off_keeps_its_first_response_and_misses_the_second():
    found = measured(unequal(stop_s=1e9, length_s=45.0))
    assert found["per/gain"].value == pytest.approx(0.35, rel=0.08)
    missing = [m for name, m in found.items() if name.startswith("post/")]
    assert len(missing) == 6
    assert all(m.value is None and "not_recorded" in m.why for m in missing)


def test_an_eye_that_does_not_answer_has_a_gain_around_zero_and_no_time_constant():
    time = times(120.0)
    head = spinning(time, stop_s=63.0)
    found = measured(trial("step", recorded(np.full(time.size, 2.0), head, time)))
    for of in ("per", "post"):
        assert found[f"{of}/gain"].low <= 0.0 <= found[f"{of}/gain"].high
        for name in ("time_constant", "decay", "time_constant_raw"):
            assert found[f"{of}/{name}"].value is None
            assert "no_response" in found[f"{of}/{name}"].why
    assert found["bias"].value == pytest.approx(2.0, abs=0.2)


def test_a_chair_that_does_not_move_gives_nothing_and_says_so():
    time = times(60.0)
    found = measured(trial("step", recorded(np.zeros(time.size), np.zeros(time.size), time)))
    assert all(m.value is None for m in found.values())
    assert "no_motion" in found["per/gain"].why


def test_a_trial_without_a_head_trace_gives_nothing_and_says_so():
    time = times(60.0)
    found = measured(trial("step", recorded(np.zeros(time.size), None, time)))
    assert all(m.value is None and m.grade == "unusable" for m in found.values())
    assert "no_motion" in found["per/gain"].why


def test_a_lapse_in_the_middle_of_a_response_is_left_out_and_marked():
    time = times(120.0)
    head = spinning(time, stop_s=63.0)
    velocity = answered(head, (0.6, 18.0), (0.6, 18.0), None)
    drowsy = np.where((time > 12.0) & (time < 20.0), 0.3, 1.0)
    result = result_of(trial("step", recorded(velocity * drowsy, head, time)))
    found = by_name(result)
    assert "lapses_left_out" in found["per/gain"].why
    assert found["per/time_constant"].value == pytest.approx(18.0, rel=0.06)
    marked = result.evidence.horizontal.time_s[result.evidence.horizontal.use == 6]
    assert marked.size > 500
    assert np.all((marked > 10.0) & (marked < 22.5))


# --- finding the changes of velocity ------------------------------------------------------------


def changes_of(velocity_deg_s, rate_hz=25.0):
    motion = Motion(np.arange(velocity_deg_s.size) / rate_hz, velocity_deg_s)
    return find_changes(from_rest(motion, SETTINGS), SETTINGS)


def spin(length_s, rate_hz=25.0, **more):
    return spinning(np.arange(round(length_s * rate_hz)) / rate_hz, **more)


@pytest.mark.parametrize(("velocity", "first"), [(100.0, "right"), (-100.0, "left")])
def test_a_whole_spin_has_two_changes_that_excite_opposite_sides(velocity, first):
    per, post = changes_of(spin(120.0, velocity=velocity, stop_s=63.0))
    assert (per.of, post.of) == ("per", "post")
    assert per.exciting == first
    assert post.exciting != first
    assert per.size_deg_s == pytest.approx(velocity)
    assert post.size_deg_s == pytest.approx(-velocity)
    assert per.start_s == pytest.approx(3.0, abs=0.1)
    assert per.stop_s == pytest.approx(3.7, abs=0.1)
    assert post.start_s == pytest.approx(63.0, abs=0.1)
    assert per.until_s == post.start_s


def test_a_spin_that_never_stops_has_one_change():
    (per,) = changes_of(spin(40.0))
    assert per.of == "per"
    assert per.until_s == pytest.approx(40.0, abs=0.1)


def test_the_changes_together_are_the_chair_s_whole_motion():
    clean = spin(120.0, stop_s=63.0)
    noisy = clean + np.random.default_rng(0).normal(0, 1.0, clean.size)
    time = np.arange(clean.size) / 25.0
    # The ramps' ends are found to a fraction of the 40 ms grid, at 143 deg/s² of ramp.
    for motion, off in ((clean, 2.5), (noisy, 6.0)):
        parts = sum(change.velocity_deg_s(time) for change in changes_of(motion))
        assert parts == pytest.approx(clean, abs=off)
        assert np.median(np.abs(parts - clean)) < 0.1


@pytest.mark.parametrize("offset", [-5.0, 2.5, 5.0])
def test_an_offset_of_the_chair_s_sensor_changes_nothing(offset):
    per, post = changes_of(spin(120.0, stop_s=63.0) + offset)
    assert per.size_deg_s == pytest.approx(spin(120.0, stop_s=63.0).max(), rel=0.002)
    assert post.stop_s > post.start_s > per.stop_s > per.start_s > 0


def test_a_chair_that_turns_from_the_first_sample_shows_the_stop_alone():
    (post,) = changes_of(spin(120.0, stop_s=63.0)[1000:])
    assert (post.of, post.exciting) == ("post", "left")


def test_noise_of_the_chair_leaves_the_time_constant_an_honest_interval():
    rng = np.random.default_rng(4)
    quiet, loud = unequal(), unequal()
    head = loud.recording.head_velocity_deg_s + rng.normal(0, 2.0, quiet.recording.time_s.size)
    loud = replace(loud, recording=replace(loud.recording, head_velocity_deg_s=head))
    before, after = (measured(t)["per/time_constant"] for t in (quiet, loud))
    assert after.value == pytest.approx(before.value, rel=0.02)
    assert after.high - after.low > 0.7 * (before.high - before.low)


def test_a_long_rest_after_a_short_spin_hides_neither_change():
    per, post = changes_of(spin(200.0, stop_s=15.0))
    assert (per.of, post.of) == ("per", "post")
    assert post.start_s == pytest.approx(15.0, abs=0.1)


def test_a_chair_at_rest_has_no_change():
    noise = np.random.default_rng(1).normal(0, 0.25, 1000)
    assert changes_of(noise) == ()
    assert changes_of(np.zeros(1000)) == ()


def test_resampling_keeps_the_chair_s_displacement_and_bridges_lost_samples():
    time = times(20.0)
    head = 30.0 * np.sin(2 * np.pi * 0.2 * time)
    head[1000:1010] = np.nan
    motion = resample_motion(time, head, 25.0)
    known = np.interp(time, time[np.isfinite(head)], head[np.isfinite(head)])
    travelled = np.sum(motion.velocity_deg_s) / motion.rate_hz
    assert motion.rate_hz == pytest.approx(25.0, rel=0.01)
    assert travelled == pytest.approx(np.trapezoid(known, time), abs=0.01)


def test_what_is_given_back_to_a_saturating_response_is_in_its_interval():
    session, _ = scenario("saturation", 1)
    one = next(t for t in session.trials if t.id == "step-right")
    prepared = prepare(one, EyeSettings(), MeasureSettings())
    head = one.recording.head_velocity_deg_s
    motion = from_rest(resample_motion(one.recording.time_s, head, 50), SETTINGS)
    fit = fit_step(prepared.pieces, motion, find_changes(motion, SETTINGS), SETTINGS)
    misfit = find_misfit(prepared.pieces, fit, fit.changes[0], SETTINGS)
    plain = misfit_errors(fit, 0, NO_MISFIT)
    added = misfit_errors(fit, 0, misfit)
    assert np.all(plain == 0)
    assert added[0] > 0
    assert added[1] > 0
    gain = by_name(result_of(one))["per/gain"]
    assert "shape_differs" in gain.why
    assert gain.high - gain.low > 2 * 1.96 * added[0]
