from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.fixation import Fixation
from slowphase.physiology.labyrinth import Direction, Reflex
from slowphase.physiology.oculomotor import GRID_HZ
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, head_velocity, sinusoid, step
from slowphase.physiology.simulate import wanted_velocity
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.storage import Dynamics
from slowphase.physiology.truth import sinusoid_truth, spontaneous_truth, step_truth

UNEQUAL = Person(
    reflex=Reflex(
        right=Direction(
            gain=0.3, dynamics=Dynamics(7.0, 120.0), inhibited_share=0.7, cutoff_deg_s=60
        ),
        left=Direction(gain=0.55, dynamics=Dynamics(12.0, 120.0), saturation_deg_s=150.0),
    ),
    spontaneous=Spontaneous(bias_deg_s=4.0),
)


def _mirrored(person):
    reflex = replace(person.reflex, right=person.reflex.left, left=person.reflex.right)
    bias = replace(person.spontaneous, bias_deg_s=-person.spontaneous.bias_deg_s)
    return replace(person, reflex=reflex, spontaneous=bias)


def _last_cycle(person, frequency_hz, cycles):
    """Head and wanted velocity of the last cycle of a long run: the other way to a steady state."""
    plan = replace(sinusoid(frequency_hz), cycles=cycles, tail_s=0.0)
    time_s = np.arange(int(plan.length_s * GRID_HZ)) / GRID_HZ
    head = head_velocity(plan, time_s)
    count = int(GRID_HZ / frequency_hz)
    return head[-count:], wanted_velocity(person, plan, head)[-count:]


@pytest.mark.parametrize("person", [Person(), UNEQUAL])
@pytest.mark.parametrize(("frequency_hz", "cycles"), [(0.02, 30), (0.16, 200), (0.64, 800)])
def test_steady_state_is_what_endless_cycles_lead_to(person, frequency_hz, cycles):
    head, velocity = _last_cycle(person, frequency_hz, cycles)
    wave = np.exp(-2j * np.pi * np.arange(head.size) / head.size)
    ratio = -np.sum(velocity * wave) / np.sum(head * wave)
    truth = sinusoid_truth(person, sinusoid(frequency_hz), 0.0)
    assert truth["gain"] == pytest.approx(abs(ratio), rel=2e-3)
    assert truth["phase"] == pytest.approx(np.degrees(np.angle(ratio)), abs=0.1)
    assert truth["offset"] == pytest.approx(np.mean(velocity), abs=0.02)
    right, left = -velocity.min(), velocity.max()
    assert truth["asymmetry"] == pytest.approx(100 * (right - left) / (right + left), abs=0.3)


def test_latency_stays_in_the_phase():
    # 8 ms are 1.8° at 0.64 Hz, by arithmetic: 360·0.64·0.008
    late = sinusoid_truth(Person(), sinusoid(0.64), 0.0)["phase"]
    prompt = Person(reflex=replace(Person().reflex, latency_s=0.0))
    assert sinusoid_truth(prompt, sinusoid(0.64), 0.0)["phase"] - late == pytest.approx(
        1.84, abs=0.01
    )


def test_a_steady_bias_gives_the_asymmetry_of_the_formula():
    # −4 deg/s at G = 0.5, V = 60 gives +13 %, by arithmetic: −b/(G·V)
    half = Direction(gain=0.5, dynamics=Dynamics(1e6, np.inf))
    person = Person(reflex=Reflex(half, half), spontaneous=Spontaneous(bias_deg_s=-4.0))
    assert sinusoid_truth(person, sinusoid(0.16), 0.0)["asymmetry"] == pytest.approx(
        13.33, abs=0.01
    )


def _plain(decay_s, adaptation_s, ramp_s):
    side = Direction(gain=1.0, dynamics=Dynamics(decay_s, adaptation_s))
    plan = replace(step("right"), acceleration_deg_s2=100.0 / ramp_s)
    return step_truth(Person(reflex=Reflex(side, side)), plan, 0.0)


def test_time_constant_with_adaptation_is_that_of_the_definition():
    # T = 15 s, adaptation 80 s: 11.6 s for an ideal step, 11.5 s after a 1 s ramp, by arithmetic
    assert _plain(15.0, 80.0, 0.005)["per/time_constant"] == pytest.approx(11.6, abs=0.05)
    assert _plain(15.0, 80.0, 1.0)["per/time_constant"] == pytest.approx(11.5, abs=0.06)
    assert _plain(15.0, 80.0, 1.0)["per/decay"] == 15.0


def test_a_ramp_costs_a_short_reflex_part_of_its_peak():
    # a 1 s ramp costs a 5 s reflex 9 % of its peak, by arithmetic: 5·(1 − exp(−1/5))
    assert _plain(5.0, np.inf, 1.0)["per/gain"] == pytest.approx(0.91, abs=0.005)


def test_post_response_of_a_right_spin_is_the_per_response_of_a_left_one():
    right, left = (step_truth(UNEQUAL, step(side), 0.0) for side in ("right", "left"))
    for name in ("gain", "time_constant", "decay"):
        assert right[f"post/{name}"] == left[f"per/{name}"]
        assert right[f"per/{name}"] == left[f"post/{name}"]
    assert right["per/gain"] < right["post/gain"]


@given(st.sampled_from([0.01, 0.04, 0.16, 0.64]), st.floats(-15.0, 15.0))
@settings(max_examples=20)
def test_mirroring_the_person_swaps_right_and_left_and_nothing_else(frequency_hz, bias):
    person = replace(UNEQUAL, spontaneous=Spontaneous(bias_deg_s=bias))
    plan = sinusoid(frequency_hz)
    one, other = sinusoid_truth(person, plan, 0.0), sinusoid_truth(_mirrored(person), plan, 0.0)
    assert one["gain"] == pytest.approx(other["gain"])
    assert one["phase"] == pytest.approx(other["phase"])
    assert one["gain_right"] == pytest.approx(other["gain_left"])
    assert one["bias"] == pytest.approx(-other["bias"])
    assert one["asymmetry"] == pytest.approx(-other["asymmetry"])


def test_mirroring_person_and_spin_mirrors_the_velocity():
    time_s = np.arange(130_000) / GRID_HZ
    heads = [head_velocity(step(side), time_s) for side in ("right", "left")]
    np.testing.assert_array_equal(heads[0], -heads[1])
    one = wanted_velocity(UNEQUAL, step("right"), heads[0])
    other = wanted_velocity(_mirrored(UNEQUAL), step("left"), heads[1])
    np.testing.assert_allclose(one, -other, atol=1e-9)


def test_no_reflex_has_no_phase_and_no_time_constant():
    silent = Direction(gain=0.0)
    person = Person(reflex=Reflex(silent, silent))
    sine, spin = sinusoid_truth(person, sinusoid(0.04), 0.0), step_truth(person, step("left"), 0.0)
    assert sine["gain"] == 0.0
    assert sine["phase"] is None
    assert sine["asymmetry"] is None
    assert spin["post/time_constant"] is None


def test_low_alertness_throughout_lowers_what_is_measured():
    drowsy = replace(Person(), alertness=Alertness(throughout=0.6))
    alert, low = (sinusoid_truth(who, sinusoid(0.08), 0.0)["gain"] for who in (Person(), drowsy))
    assert low == pytest.approx(0.6 * alert)


def test_lapses_do_not_change_the_alert_truth():
    lapsing = replace(Person(), alertness=Alertness(lapses_per_min=2.0))
    assert sinusoid_truth(lapsing, sinusoid(0.08), 0.0) == sinusoid_truth(
        Person(), sinusoid(0.08), 0.0
    )


def test_fixation_acts_on_the_modulated_part_and_on_the_bias_apart():
    person = Person(
        fixation=Fixation(strength=0.9, spontaneous=0.5), spontaneous=Spontaneous(bias_deg_s=-10.0)
    )
    truth = sinusoid_truth(person, sinusoid(0.04, vision="head-fixed target"), 0.0)
    assert truth["bias"] == pytest.approx(-5.0)
    assert truth["gain"] < 0.11 * 0.65


def test_spontaneous_velocity_is_at_the_gaze_that_was_held():
    person = Person(spontaneous=Spontaneous(bias_deg_s=-6.0, vertical_deg_s=1.0))
    plan = TrialPlan(id="rest", kind="spontaneous")
    truth = spontaneous_truth(person, plan, 0.0, held_gaze_deg=(5.0, -10.0))
    assert truth["horizontal/velocity"] == pytest.approx(-6.1)
    assert truth["vertical/velocity"] == pytest.approx(1.2)


def test_a_fading_nystagmus_is_stronger_early_in_the_session():
    person = Person(spontaneous=Spontaneous(fading_deg_s=-8.0, fading_s=600.0))
    early, late = (sinusoid_truth(person, sinusoid(0.16), at)["bias"] for at in (0.0, 600.0))
    assert late / early == pytest.approx(np.exp(-1.0))


def test_a_spin_that_was_broken_off_has_no_post_response():
    plan = replace(step("right"), stopped_after_s=40.0)
    truth = step_truth(Person(), plan, 0.0)
    assert "per/gain" in truth
    assert "post/gain" not in truth


@pytest.mark.parametrize("person", [Person(), UNEQUAL])
@pytest.mark.parametrize("direction", ["right", "left"])
def test_per_response_is_what_the_chair_causes_before_it_stops(person, direction):
    still = replace(person, spontaneous=Spontaneous())
    plan = step(direction)
    time_s = np.arange(int(plan.stop_at_s * GRID_HZ)) / GRID_HZ
    speed = np.abs(wanted_velocity(still, plan, head_velocity(plan, time_s)))
    peak = int(np.argmax(speed))
    after = speed[peak:] < speed[peak] / np.e
    truth = step_truth(still, plan, 0.0)
    assert truth["per/gain"] == pytest.approx(speed[peak] / 100.0, rel=1e-3)
    assert truth["per/time_constant"] == pytest.approx(np.argmax(after) / GRID_HZ, abs=0.01)


def test_what_is_left_of_the_spin_adds_to_the_raw_response_after_the_stop():
    # about 9 % of a healthy peak, T = 15 s with adaptation of 80 s, by arithmetic
    side = Direction(gain=1.0, dynamics=Dynamics(15.0, 80.0))
    person, plan = Person(reflex=Reflex(side, side)), step("right")
    time_s = np.arange(int(plan.length_s * GRID_HZ)) / GRID_HZ
    raw = wanted_velocity(person, plan, head_velocity(plan, time_s)).max()
    alone = 100.0 * step_truth(person, plan, 0.0)["post/gain"]
    assert raw / alone == pytest.approx(1.09, abs=0.01)
