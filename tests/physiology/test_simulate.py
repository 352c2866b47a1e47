from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.alertness import Alertness, alert_factor, draw_lapses, lapse_mask
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, sinusoid, standard_protocol, step
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate

SHORT = (
    TrialPlan(id="rest", kind="spontaneous", duration_s=20.0),
    replace(sinusoid(0.16), cycles=3),
    replace(sinusoid(0.16, vision="head-fixed target"), cycles=3),
)


def test_the_same_seed_gives_the_same_samples():
    one, two = (simulate(Person(), SHORT, Equipment(), seed=7) for _ in range(2))
    for first, second in zip(one, two, strict=True):
        for role, trace in first.traces.channels.items():
            np.testing.assert_array_equal(trace, second.traces.channels[role])
        assert first.truth.measures == second.truth.measures


def test_another_seed_gives_other_samples_of_the_same_truth():
    one, two = (simulate(Person(), SHORT, Equipment(), seed=seed) for seed in (7, 8))
    assert not np.array_equal(one[1].truth.position_deg, two[1].truth.position_deg)
    assert one[1].truth.measures == two[1].truth.measures


def test_standard_protocol_is_a_session_of_about_twenty_minutes():
    plans = standard_protocol()
    assert 20.0 < sum(plan.length_s for plan in plans) / 60.0 < 25.0
    assert len({plan.id for plan in plans}) == len(plans)


def test_suppression_joins_the_trial_with_the_target_to_its_dark_partner():
    _, dark, fixed = simulate(Person(), SHORT, Equipment(), seed=1)
    ratio = fixed.truth.measures["gain"] / dark.truth.measures["gain"]
    assert fixed.truth.measures["suppression"] == pytest.approx(100 * (1 - ratio))
    assert "suppression" not in dark.truth.measures


def test_a_stopped_trial_ends_where_it_was_stopped():
    plan = replace(step("left"), stopped_after_s=40.0)
    (trial,) = simulate(Person(), (plan,), Equipment(sampling_hz=100.0), seed=1)
    assert trial.traces.time_s[-1] == pytest.approx(40.0, abs=0.02)


def test_true_slow_phase_is_the_slope_of_true_position_outside_quick_phases():
    (trial,) = simulate(Person(), SHORT[1:2], Equipment(sampling_hz=500.0), seed=4)
    truth = trial.truth
    slope = np.gradient(truth.position_deg, truth.time_s)
    near = np.convolve(truth.in_quick_phase, np.ones(5), mode="same") > 0
    np.testing.assert_allclose(slope[~near], truth.slow_phase_deg_s[~near], atol=0.5)


def test_the_slow_phase_recovers_the_gain_without_noise():
    (trial,) = simulate(Person(), (sinusoid(0.32),), Equipment(), seed=4)
    moving = (trial.truth.time_s > 18.0) & (trial.truth.time_s < 18.0 + 10 / 0.32)
    head, slow = trial.truth.head_velocity_deg_s[moving], trial.truth.slow_phase_deg_s[moving]
    slope = -np.dot(head, slow) / np.dot(head, head)
    assert slope == pytest.approx(trial.truth.measures["gain"], rel=0.01)


def test_lapses_lower_the_response_only_while_they_last():
    alertness = Alertness(lapses_per_min=1.0)
    lapses = draw_lapses(alertness, 300.0, np.random.default_rng(3))
    time_s = np.arange(30_000) / 100.0
    factor, mask = alert_factor(alertness, lapses, time_s), lapse_mask(lapses, time_s)
    assert len(lapses) >= 2
    assert 0.29 < factor[mask].min() < 0.75
    away = np.convolve(mask, np.ones(401), mode="same") == 0
    assert factor[away].min() > 0.99


def test_lapses_never_fill_half_a_trial():
    alertness = Alertness(lapses_per_min=20.0)
    for seed in range(20):
        lapses = draw_lapses(alertness, 100.0, np.random.default_rng(seed))
        assert sum(lapse.stop_s - lapse.start_s for lapse in lapses) < 50.0


def test_a_recording_that_starts_late_is_the_same_motion_from_there_on():
    plan = replace(sinusoid(0.16), cycles=3)
    late = replace(plan, recorded_from_s=7.0)
    (whole,), (part,) = (
        simulate(Person(), (chosen,), Equipment(sampling_hz=100.0), seed=3)
        for chosen in (plan, late)
    )
    head = whole.truth.head_velocity_deg_s[700:]
    np.testing.assert_allclose(part.truth.head_velocity_deg_s, head, atol=1e-9)
    assert part.traces.time_s[0] == 0.0
    assert part.truth.measures == whole.truth.measures
    near = part.truth.in_quick_phase
    slope = np.gradient(part.truth.position_deg, part.truth.time_s)
    near = np.convolve(near, np.ones(5), mode="same") > 0
    np.testing.assert_allclose(slope[~near], part.truth.slow_phase_deg_s[~near], atol=1.0)


def test_wavering_spreads_the_response_around_its_mean():
    steady, wavering = (
        simulate(Person(alertness=Alertness(waver=waver)), (sinusoid(0.16),), Equipment(), seed=3)[
            0
        ].truth
        for waver in (0.0, 0.1)
    )
    moving = np.abs(steady.slow_phase_deg_s) > 20.0
    ratio = wavering.slow_phase_deg_s[moving] / steady.slow_phase_deg_s[moving]
    assert 0.04 < np.std(ratio) < 0.2
    assert steady.measures == wavering.measures
