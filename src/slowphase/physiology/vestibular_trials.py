"""Trials without a chair that still reach the labyrinths or their storage."""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.caloric import caloric_velocity
from slowphase.physiology.eye_states import (
    drifting,
    eye_in_the_dark,
    eye_on_a_target,
    upright_motion,
)
from slowphase.physiology.fixation import spontaneous_residual
from slowphase.physiology.head_shaking import after_shaking, uneven_deg_s
from slowphase.physiology.impulse import (
    Pulse,
    area_gain,
    eye_velocity,
    mending_saccades,
    pulse_velocity,
)
from slowphase.physiology.labyrinth import reflex_velocity
from slowphase.physiology.movement import (
    Moment,
    Movement,
    alertness_at,
    around,
    dark_bias,
    grid_of,
    held_at,
)
from slowphase.physiology.oculomotor import GRID_HZ, eye_motion
from slowphase.physiology.optokinetic import followed_deg_s, optokinetic_velocity
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import IMPULSE_EVERY_S, TrialPlan, head_velocity
from slowphase.physiology.spells import ramp
from slowphase.physiology.target_saccade import Row, gathered
from slowphase.physiology.transfer import leaky_integral

STRONGEST_S = 10.0  # a caloric peak is the mean of so many seconds: common practice
FIXATION_SETTLES_S = 1.0
FASTEST_DEG_S = (150.0, 250.0)
LASTING_S = (0.15, 0.2)
BACK_AFTER_S, BACK_FOR_S = 0.7, 1.0


def _in_culmination(alone: FloatArray, shown: FloatArray) -> float:
    """The mean of ``shown`` over the ten seconds (or all) in which ``alone`` is strongest."""
    length = min(int(STRONGEST_S * GRID_HZ), alone.size)
    begun = int(np.argmax(np.abs(_running_mean(alone, length))))
    return float(np.mean(shown[begun : begun + length]))


def _running_mean(velocity: FloatArray, length: int) -> FloatArray:
    sums = np.cumsum(np.concatenate(([0.0], velocity)))
    return np.asarray((sums[length:] - sums[:-length]) / length)


def caloric_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """One irrigation in the dark, with a target for a while if ``fixation_s`` is given.

    True measures in deg/s, signed as slow phase: ``velocity`` (mean of the 10 s in which
    the response is strongest, as it would be without fixation) with the spontaneous nystagmus,
    ``response`` without it; ``fixation_index`` is what fixation leaves.
    """
    time_s = grid_of(plan)
    alone = caloric_velocity(
        person.caloric,
        plan.ear,
        plan.temperature_c,
        plan.medium,
        plan.irrigation_s,
        time_s - plan.lead_s,
    )
    bias = dark_bias(person, moment, time_s)
    alert = person.alertness.throughout
    left = _left_by_fixation(plan, time_s, 1.0 - person.caloric.suppression)
    wanted = alertness_at(person, moment, time_s) * left * (alone + bias)
    eye = eye_in_the_dark(person)
    across = eye_motion(eye, wanted + drifting(eye, time_s.size, moment.rng), moment.rng)
    upward = alert * person.spontaneous.vertical_deg_s
    measures: dict[str, float | None] = {
        "velocity": alert * _in_culmination(alone, alone + bias),
        "response": alert * _in_culmination(alone, alone),
        "fixation_index": None if plan.fixation_s is None else 1.0 - person.caloric.suppression,
    }
    return Movement(
        across,
        upright_motion(eye, across, upward, moment.rng),
        np.zeros(time_s.size),
        measures,
        events={"irrigation_s": (plan.lead_s, plan.lead_s + plan.irrigation_s)},
    )


def _left_by_fixation(plan: TrialPlan, time_s: FloatArray, left: float) -> FloatArray:
    if plan.fixation_s is None:
        return np.ones(time_s.size)
    start_s, stop_s = plan.fixation_s
    seen = ramp(time_s, start_s, FIXATION_SETTLES_S) - ramp(time_s, stop_s, FIXATION_SETTLES_S)
    return 1.0 - (1.0 - left) * seen


def optokinetic_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """A scene that moves for ``rotation_s``, then darkness for ``rest_s``.

    True measures: ``gain`` (slow phase over scene, steady), ``after/velocity`` (deg/s, signed, at
    the first moment of darkness, alert) and ``after/time_constant`` (s).
    """
    time_s = grid_of(plan)
    okn = person.optokinetic
    side = 1.0 if plan.direction == "right" else -1.0
    scene = side * plan.velocity_deg_s
    moving_s = plan.lead_s, plan.lead_s + plan.rotation_s
    # a slow phase to the right is what exciting the left labyrinth stores
    storing = person.reflex.left if side > 0 else person.reflex.right
    decay_s = storing.dynamics.decay_s
    own = optokinetic_velocity(okn, scene, moving_s, decay_s, time_s)
    lit = (time_s >= moving_s[0]) & (time_s < moving_s[1])
    bias = dark_bias(person, moment, time_s) * _seen_left(lit, person)
    wanted = alertness_at(person, moment, time_s) * (own + bias)
    eye = eye_in_the_dark(person)
    across = eye_motion(eye, wanted + drifting(eye, time_s.size, moment.rng), moment.rng)
    charged = -np.expm1(-plan.rotation_s / okn.charging_s)
    followed = followed_deg_s(okn, scene)
    alert = person.alertness.throughout
    measures: dict[str, float | None] = {
        "gain": alert * (okn.direct + okn.stored) * followed / scene,
        "after/velocity": alert * okn.stored * followed * charged,
        "after/time_constant": decay_s,
    }
    upward = alert * person.spontaneous.vertical_deg_s
    return Movement(
        across,
        upright_motion(eye, across, upward, moment.rng),
        np.zeros(time_s.size),
        measures,
        events={"scene_s": moving_s},
    )


def head_shaking_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """The head is shaken in the dark, then rests.

    True measures: ``after/velocity`` (deg/s, signed, at the first moment of rest, spontaneous
    nystagmus taken out, alert) and ``after/time_constant`` (s).
    """
    time_s = grid_of(plan)
    head = head_velocity(plan, time_s)
    shaken_s = plan.lead_s, plan.lead_s + plan.cycles / plan.frequency_hz
    uneven = uneven_deg_s(person.reflex, plan.delivered * plan.peak_velocity_deg_s)
    storing = person.reflex.left if uneven > 0 else person.reflex.right
    decay_s = storing.dynamics.decay_s
    stored = after_shaking(person.head_shaking, uneven, shaken_s, decay_s, time_s)
    answered = reflex_velocity(person.reflex, head, GRID_HZ)
    bias = dark_bias(person, moment, time_s)
    wanted = alertness_at(person, moment, time_s) * (answered + stored + bias)
    eye = eye_in_the_dark(person)
    across = eye_motion(eye, wanted + drifting(eye, time_s.size, moment.rng), moment.rng)
    alert = person.alertness.throughout
    charged = -np.expm1(-(shaken_s[1] - shaken_s[0]) / person.head_shaking.charging_s)
    measures: dict[str, float | None] = {
        "after/velocity": alert * person.head_shaking.stored * uneven * charged,
        "after/time_constant": decay_s if uneven else None,
    }
    upward = alert * person.spontaneous.vertical_deg_s
    return Movement(
        across,
        upright_motion(eye, across, upward, moment.rng),
        head,
        measures,
        events={"shaken_s": shaken_s},
    )


def _seen_left(lit: BoolArray, person: Person) -> FloatArray:
    return np.where(lit, spontaneous_residual(person.fixation), 1.0)


def pulses_of(plan: TrialPlan, rng: np.random.Generator) -> tuple[Pulse, ...]:
    """Impulses to both sides in random order, equally many (one more to the right if odd)."""
    sides = np.resize([1, -1], plan.impulses)
    rng.shuffle(sides)
    return tuple(
        Pulse(
            float(plan.lead_s + IMPULSE_EVERY_S * index + rng.uniform(0.0, 0.3)),
            int(side),
            float(rng.uniform(*FASTEST_DEG_S)),
            float(rng.uniform(*LASTING_S)),
        )
        for index, side in enumerate(sides)
    )


def impulse_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """Head impulses to both sides while an earth-fixed target is looked at.

    After each the head is brought back slowly, and the eye with it onto the target. True measures:
    ``right/gain`` and ``left/gain``, areas, means over the impulses of each side. Events: the
    ``onset_s`` of every impulse, its ``side`` (+1 right), ``gain`` and peak (deg/s).
    """
    time_s = grid_of(plan)
    given = pulses_of(plan, moment.rng)
    pulses = tuple(p for p in given if p.onset_s + BACK_AFTER_S < plan.length_s)
    head, slow = np.zeros(time_s.size), np.zeros(time_s.size)
    rows: list[Row] = []
    for pulse in pulses:
        first = int(pulse.onset_s * GRID_HZ)
        part = slice(first, first + int((BACK_AFTER_S + BACK_FOR_S + 0.1) * GRID_HZ))
        mending = mending_saccades(person.impulses, pulse, moment.rng)
        answered = pulse.side * pulse.area_deg * area_gain(person.impulses, pulse)
        moved_deg = sum(row[2] for row in mending) - answered
        back = _brought_back(pulse, time_s[part])
        head[part] += pulse_velocity(pulse, time_s[part]) - pulse.side * pulse.area_deg * back
        slow[part] += eye_velocity(person.impulses, pulse, time_s[part]) - moved_deg * back
        rows += mending
    steps = gathered(rows)
    eye = replace(eye_on_a_target(person), gaze_leak_per_s=0.0)
    left = spontaneous_residual(person.fixation) * dark_bias(person, moment, time_s)
    fidgeting = eye_motion(eye, left + drifting(eye, time_s.size, moment.rng), moment.rng)
    carried = held_at(steps, time_s.size) + leaky_integral(0.0, slow, GRID_HZ)
    near = replace(fidgeting, slow_phase_deg_s=fidgeting.slow_phase_deg_s + slow)
    across = around(carried, steps, near, eye)
    gains = [area_gain(person.impulses, pulse) for pulse in pulses]
    return Movement(
        across,
        upright_motion(eye, across, 0.0, moment.rng),
        head,
        {f"{name}/gain": _mean(gains, pulses, side) for name, side in (("right", 1), ("left", -1))},
        events={
            "onset_s": tuple(pulse.onset_s for pulse in pulses),
            "side": tuple(float(pulse.side) for pulse in pulses),
            "gain": tuple(gains),
            "peak_velocity_deg_s": tuple(pulse.peak_deg_s for pulse in pulses),
        },
    )


def _mean(gains: list[float], pulses: tuple[Pulse, ...], side: int) -> float | None:
    own = [gain for gain, pulse in zip(gains, pulses, strict=True) if pulse.side == side]
    return float(np.mean(own)) if own else None


def _brought_back(pulse: Pulse, time_s: FloatArray) -> FloatArray:
    """The slow way back after a pulse, as a velocity of area 1, in 1/s, shape (n,)."""
    fraction = np.clip((time_s - pulse.onset_s - BACK_AFTER_S) / BACK_FOR_S, 0.0, 1.0)
    return np.asarray(2.0 / BACK_FOR_S * np.sin(np.pi * fraction) ** 2)
