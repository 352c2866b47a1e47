"""Trials with a target: calibration, saccades, gaze holding, pursuit.

The eye moves around a place that it has taken up (``around``): saccades to the target change that
place, and what is left of the reflex, of the leak of gaze holding and of drift moves it near there.
"""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.eye_states import (
    CATCHING_UP,
    drifting,
    eye_in_the_dark,
    eye_on_a_target,
    upright_motion,
)
from slowphase.physiology.fixation import spontaneous_residual
from slowphase.physiology.movement import (
    Moment,
    Movement,
    alertness_at,
    around,
    dark_bias,
    grid_of,
    held_at,
)
from slowphase.physiology.oculomotor import EyeMotion, Oculomotor, eye_motion
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, jumps_of
from slowphase.physiology.pursuit import pursuit_gain, pursuit_phase_deg, pursuit_velocity
from slowphase.physiology.saccade import peak_velocity
from slowphase.physiology.target_saccade import Answer, answers
from slowphase.physiology.truth import bias_left, spontaneous_truth

ARRIVING_S = 1.0
COMPARED_DEG = 10.0  # peak velocity of saccades is told for this size


def target_at(plan: TrialPlan, time_s: FloatArray) -> FloatArray:
    """Where a jumping target is, deg, shape (n,)."""
    jumps = jumps_of(plan)
    index = np.searchsorted([when for when, _ in jumps], time_s, side="right")
    return np.array([0.0, *(place for _, place in jumps)])[index]


def _still_head(time_s: FloatArray) -> FloatArray:
    return np.zeros(time_s.size)


def _upright(
    person: Person, plan: TrialPlan, eye: Oculomotor, across: EyeMotion, moment: Moment
) -> EyeMotion:
    upward = bias_left(person, plan) * person.spontaneous.vertical_deg_s
    return upright_motion(eye, across, upward * person.alertness.throughout, moment.rng)


def jumping_target(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """Calibration and saccades: a visible target that jumps.

    True measures of ``saccade``: ``latency`` (s) and ``accuracy`` (%) as medians over the first
    saccades to each jump, and ``peak_velocity`` (deg/s) of the person for a saccade of 10 deg.
    """
    time_s = grid_of(plan)
    steps, first = answers(person.saccades, jumps_of(plan), plan.length_s, moment.rng)
    eye = eye_on_a_target(person)
    left = spontaneous_residual(person.fixation) * dark_bias(person, moment, time_s)
    wanted = alertness_at(person, moment, time_s) * left
    near = eye_motion(eye, wanted + drifting(eye, time_s.size, moment.rng), moment.rng)
    across = around(held_at(steps, time_s.size), steps, near, eye)
    measures: dict[str, float | None] = {} if plan.kind == "calibration" else _told(person, first)
    return Movement(
        across,
        _upright(person, plan, eye, across, moment),
        _still_head(time_s),
        measures,
        target_at(plan, time_s),
        {"jump_s": tuple(when for when, _ in jumps_of(plan))},
    )


def _told(person: Person, first: tuple[Answer, ...]) -> dict[str, float | None]:
    if not first:
        return {"latency": None, "accuracy": None, "peak_velocity": None}
    shares = [100.0 * answer.amplitude_deg / answer.jump_deg for answer in first]
    return {
        "latency": float(np.median([answer.latency_s for answer in first])),
        "accuracy": float(np.median(shares)),
        "peak_velocity": peak_velocity(person.saccades.sequence, COMPARED_DEG),
    }


def gaze_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """Looking to one side, with a target (light) or without (dark): E' = v − k·E.

    In the light fixation takes the same share of the leak away as of a spontaneous nystagmus; in
    the dark the place is remembered. True measures are those of a spontaneous trial at this gaze.
    """
    time_s = grid_of(plan)
    steps, _ = answers(person.saccades, jumps_of(plan), plan.length_s, moment.rng)
    dark = plan.vision == "dark"
    eye = eye_in_the_dark(person) if dark else eye_on_a_target(person)
    left = bias_left(person, plan)
    leak = left * person.oculomotor.gaze_leak_per_s
    place = held_at(steps, time_s.size)
    bias = alertness_at(person, moment, time_s) * left * dark_bias(person, moment, time_s)
    holding = replace(eye, gaze_leak_per_s=leak)
    wanted = bias - leak * place + drifting(eye, time_s.size, moment.rng)
    across = around(place, steps, eye_motion(holding, wanted, moment.rng), eye)
    upright = _upright(person, plan, eye, across, moment)
    measures = _held(replace(person, oculomotor=holding), plan, moment, (across, upright))
    return Movement(
        across, upright, _still_head(time_s), measures, None if dark else target_at(plan, time_s)
    )


def _held(
    person: Person, plan: TrialPlan, moment: Moment, motion: tuple[EyeMotion, EyeMotion]
) -> dict[str, float | None]:
    """Velocity at the gaze that was held, from one second after the target jumped."""
    leak = person.oculomotor.gaze_leak_per_s
    arrived = grid_of(plan) > jumps_of(plan)[0][0] + ARRIVING_S
    if not arrived.any():
        names = ("horizontal/velocity", "vertical/velocity", "gaze")
        return dict.fromkeys(names) | {"gaze_slope": leak}
    across, up = (float(np.mean(plane.position_deg[arrived])) for plane in motion)
    velocities = spontaneous_truth(person, plan, moment.session_time_s, (across, up))
    return velocities | {"gaze": across, "gaze_slope": leak}


def pursuit_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """A target that swings; the eye follows with its gain, and saccades catch up.

    True measures: ``gain`` and ``phase`` (deg, a lag is negative) of smooth velocity.
    """
    pursuit, frequency_hz = person.pursuit, plan.frequency_hz
    time_s = grid_of(plan)
    moving_s = np.clip(time_s - plan.lead_s, 0.0, plan.cycles / frequency_hz)
    omega = 2 * np.pi * frequency_hz
    moving = (moving_s > 0) & (moving_s < plan.cycles / frequency_hz)
    swing = plan.peak_velocity_deg_s * np.sin(omega * moving_s) * moving
    smooth = pursuit_velocity(pursuit, frequency_hz, plan.peak_velocity_deg_s, moving_s) * moving
    # the target starts at the left end of its swing, so that it moves around straight ahead
    target = -plan.peak_velocity_deg_s / omega * np.cos(omega * moving_s)
    eye = eye_on_a_target(person)
    quick = replace(CATCHING_UP, limit_deg=pursuit.catch_up_deg)
    eye = replace(eye, quick=quick, gaze_leak_per_s=0.0)
    left = spontaneous_residual(person.fixation) * dark_bias(person, moment, time_s)
    wanted = alertness_at(person, moment, time_s) * left + drifting(eye, time_s.size, moment.rng)
    behind = eye_motion(eye, smooth - swing + wanted, moment.rng)
    across = EyeMotion(
        target + behind.position_deg,
        swing + behind.slow_phase_deg_s,
        behind.saccades,
        behind.ringing_deg,
    )
    measures: dict[str, float | None] = {
        "gain": pursuit_gain(pursuit, frequency_hz, plan.peak_velocity_deg_s),
        "phase": pursuit_phase_deg(pursuit, frequency_hz),
    }
    upright = _upright(person, plan, eye, across, moment)
    return Movement(across, upright, _still_head(time_s), measures, target)
