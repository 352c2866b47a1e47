"""The measures that a perfect estimator would return, from the model without noise.

Definitions are those of the measures' pages: sinusoids in the steady state of endless cycles,
with the head still and the eye straight ahead for the bias; each step response as if its own
change of chair velocity had come alone, in a patient at rest; the alert state where there are
only lapses. Keys are ``name`` or ``of/name``; None where no such number exists.
"""

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.fixation import residual, spontaneous_residual
from slowphase.physiology.labyrinth import Direction, combined, half_response, reflex_velocity
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.spontaneous import bias_at
from slowphase.physiology.storage import reflex_filter
from slowphase.physiology.transfer import filtered, frequency_response

Measures: TypeAlias = dict[str, float | None]

CYCLE = 8192
STEP_HZ = 200.0
WITHHELD_BELOW_DEG_S = 5.0
SILENT_GAIN = 1e-3
FIXATING = ("light", "head-fixed target")


def response_left(person: Person, plan: TrialPlan) -> float:
    """The share of the modulated response that fixation leaves; 1 in the dark."""
    if plan.vision not in FIXATING:
        return 1.0
    asked = plan.velocity_deg_s if plan.kind == "step" else plan.peak_velocity_deg_s
    return residual(person.fixation, plan.frequency_hz, plan.delivered * asked)


def bias_left(person: Person, plan: TrialPlan) -> float:
    """The share of a spontaneous nystagmus that fixation leaves; 1 in the dark."""
    return spontaneous_residual(person.fixation) if plan.vision in FIXATING else 1.0


def true_bias(person: Person, plan: TrialPlan, session_time_s: float) -> float:
    """Mean bias of the trial in deg/s, head still, eye straight ahead."""
    time_s = session_time_s + np.linspace(0.0, plan.length_s, 2001)
    bias = float(np.mean(bias_at(person.spontaneous, time_s)))
    return person.alertness.throughout * bias_left(person, plan) * bias


def _steady_drive(
    direction: Direction, plan: TrialPlan, latency_s: float, peak_deg_s: float
) -> FloatArray:
    """Filtered head velocity over one steady cycle, shape (CYCLE,)."""
    response = complex(
        frequency_response(reflex_filter(direction.dynamics), np.array([plan.frequency_hz]))[0]
    )
    late = 2 * np.pi * plan.frequency_hz * latency_s
    angle = 2 * np.pi * np.arange(CYCLE) / CYCLE
    return peak_deg_s * abs(response) * np.sin(angle + np.angle(response) - late)


def _fundamental(cycle: FloatArray) -> complex:
    angle = 2 * np.pi * np.arange(CYCLE) / CYCLE
    return complex(2.0 / CYCLE * np.sum(cycle * np.exp(-1j * angle)))


def sinusoid_truth(person: Person, plan: TrialPlan, session_time_s: float) -> Measures:
    """gain, phase, bias, offset, gain_right, gain_left, asymmetry and gaze_slope."""
    reflex, peak = person.reflex, plan.delivered * plan.peak_velocity_deg_s
    right, left = (
        _steady_drive(side, plan, reflex.latency_s, peak) for side in (reflex.right, reflex.left)
    )
    factor = person.alertness.throughout * response_left(person, plan)
    bias = true_bias(person, plan, session_time_s)
    cycle = bias + factor * combined(reflex, right, left)
    head = peak * np.sin(2 * np.pi * np.arange(CYCLE) / CYCLE)
    ratio = -_fundamental(cycle) / _fundamental(head)
    silent = abs(ratio) < SILENT_GAIN
    return {
        "gain": abs(ratio),
        "phase": None if silent else float(np.degrees(np.angle(ratio))),
        "bias": bias,
        "offset": float(np.mean(cycle)),
        "gain_right": factor * float(np.max(half_response(reflex.right, right))) / peak,
        "gain_left": factor * float(np.max(half_response(reflex.left, -left))) / peak,
        "asymmetry": _asymmetry(cycle),
        "gaze_slope": person.oculomotor.gaze_leak_per_s,
    }


def _asymmetry(cycle: FloatArray) -> float | None:
    """100·(R − L)/(R + L) of the largest leftward and rightward slow-phase speeds."""
    leftward, rightward = max(-float(cycle.min()), 0.0), max(float(cycle.max()), 0.0)
    total = leftward + rightward
    return None if total < WITHHELD_BELOW_DEG_S else 100.0 * (leftward - rightward) / total


def _crossing_s(speed: FloatArray, level: float) -> float:
    """Where the falling speed meets the level, in s from its first sample, linear between."""
    below = int(np.argmax(speed < level))
    before, after = float(speed[below - 1]), float(speed[below])
    return (below - 1 + (before - level) / (before - after)) / STEP_HZ


def response_alone(direction: Direction, plan: TrialPlan, *, factor: float = 1.0) -> FloatArray:
    """Slow-phase speed after one change of chair velocity from rest, at STEP_HZ, shape (n,)."""
    lasting_s = 8.0 * direction.dynamics.decay_s + plan.ramp_s
    time_s = np.arange(int(lasting_s * STEP_HZ)) / STEP_HZ
    change = plan.delivered * plan.velocity_deg_s
    head = change * np.clip(time_s / plan.ramp_s, 0.0, 1.0)
    drive = filtered(reflex_filter(direction.dynamics), head, STEP_HZ)
    return factor * half_response(direction, drive)


def _response_truth(direction: Direction, plan: TrialPlan, factor: float) -> Measures:
    speed = response_alone(direction, plan, factor=factor)
    peak = int(np.argmax(speed))
    gain = float(speed[peak]) / (plan.delivered * plan.velocity_deg_s)
    if gain < SILENT_GAIN:
        return {"gain": gain, "time_constant": None, "decay": None}
    simple = direction.dynamics.cupula_s is None
    return {
        "gain": gain,
        "time_constant": _crossing_s(speed[peak:], float(speed[peak]) / np.e),
        "decay": direction.dynamics.decay_s if simple else None,
    }


def exciting(plan: TrialPlan, of: str) -> str:
    """The side that the ``per`` or ``post`` response of a step excites."""
    other = "left" if plan.direction == "right" else "right"
    return plan.direction if of == "per" else other


def step_truth(person: Person, plan: TrialPlan, session_time_s: float) -> Measures:
    """per and post gain, time_constant and decay; bias and gaze_slope of the spin.

    A spin that was broken off before the chair stopped has no ``post`` response.
    """
    sides = {"right": person.reflex.right, "left": person.reflex.left}
    measures: Measures = {
        "bias": true_bias(person, plan, session_time_s),
        "gaze_slope": person.oculomotor.gaze_leak_per_s,
    }
    turned = plan.length_s > plan.stop_at_s + plan.ramp_s
    for of in ("per", "post") if turned else ("per",):
        response = _response_truth(sides[exciting(plan, of)], plan, person.alertness.throughout)
        measures |= {f"{of}/{name}": value for name, value in response.items()}
    return measures


def spontaneous_truth(
    person: Person, plan: TrialPlan, session_time_s: float, held_gaze_deg: tuple[float, float]
) -> Measures:
    """Horizontal and vertical velocity at the (horizontal, vertical) gaze that was held."""
    leak = person.oculomotor.gaze_leak_per_s
    across, up = held_gaze_deg
    vertical = bias_left(person, plan) * person.spontaneous.vertical_deg_s
    return {
        "horizontal/velocity": true_bias(person, plan, session_time_s) - leak * across,
        "vertical/velocity": person.alertness.throughout * vertical - leak * up,
    }


def suppression_truth(
    dark: Mapping[str, float | None], fixed: Mapping[str, float | None]
) -> Measures:
    """100·(1 − gain with the head-fixed target / gain in the dark), in percent."""
    dark_gain, fixed_gain = dark["gain"], fixed["gain"]
    if dark_gain is None or fixed_gain is None or dark_gain < SILENT_GAIN:
        return {"suppression": None}
    return {"suppression": 100.0 * (1.0 - fixed_gain / dark_gain)}


def noise_free_velocity(
    person: Person, plan: TrialPlan, head_velocity_deg_s: FloatArray, sampling_hz: float
) -> FloatArray:
    """The modulated slow-phase velocity that the chair alone causes, alert, shape (n,)."""
    return response_left(person, plan) * reflex_velocity(
        person.reflex, head_velocity_deg_s, sampling_hz
    )
