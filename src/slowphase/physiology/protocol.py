"""What the chair does: rest, sinusoids that start from rest, trapezoids of velocity."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import FloatArray

PRACTICE_FREQUENCIES_HZ = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)  # octaves: common practice
PEAK_DEG_S = 60.0
STEP_DEG_S = 100.0


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """One trial as it is asked of the chair and the patient.

    ``kind`` is ``spontaneous``, ``sinusoid`` or ``step``; velocities in deg/s. The chair rests for
    ``lead_s`` before and ``tail_s`` after the motion; the recording begins ``recorded_from_s``
    into all this. A sinusoid makes ``cycles``, a step turns
    for ``rotation_s`` and rests for ``rest_s``. ``delivered`` is the share of the velocity that
    the chair really reaches, ``stopped_after_s`` where the trial was broken off, and ``pause_s``
    the time since the trial before. ``light_leak`` is the share (0–1) by which an earth-fixed
    scene is seen in the dark (see ``scene.py``).
    """

    id: str
    kind: Literal["spontaneous", "sinusoid", "step"]
    vision: str = "dark"
    duration_s: float = 60.0
    frequency_hz: float = 0.0
    peak_velocity_deg_s: float = PEAK_DEG_S
    cycles: float = 4.0
    direction: Literal["right", "left"] = "right"
    velocity_deg_s: float = STEP_DEG_S
    acceleration_deg_s2: float = 150.0
    rotation_s: float = 60.0
    rest_s: float = 60.0
    lead_s: float = 3.0
    tail_s: float = 2.0
    recorded_from_s: float = 0.0
    delivered: float = 1.0
    stopped_after_s: float | None = None
    reason: str | None = None
    repeat_of: str | None = None
    pause_s: float = 45.0
    light_leak: float = 0.0

    @property
    def length_s(self) -> float:
        """How long the trial lasts, from the first rest on."""
        whole = self.lead_s + self.tail_s + self._motion_s if self._motion_s else self.duration_s
        return min(whole, self.stopped_after_s or whole)

    @property
    def ramp_s(self) -> float:
        """How long a step takes to change velocity."""
        return self.velocity_deg_s / self.acceleration_deg_s2

    @property
    def stop_at_s(self) -> float:
        """When a step begins to stop."""
        return self.lead_s + self.ramp_s + self.rotation_s

    @property
    def _motion_s(self) -> float:
        if self.kind == "sinusoid":
            return self.cycles / self.frequency_hz
        return 2 * self.ramp_s + self.rotation_s + self.rest_s if self.kind == "step" else 0.0


def head_velocity(plan: TrialPlan, time_s: FloatArray) -> FloatArray:
    """Chair velocity in deg/s, positive to the right, shape (n,)."""
    if plan.kind == "sinusoid":
        return plan.delivered * _sinusoid(plan, time_s)
    if plan.kind == "step":
        return plan.delivered * _trapezoid(plan, time_s)
    return np.zeros(time_s.shape)


def _sinusoid(plan: TrialPlan, time_s: FloatArray) -> FloatArray:
    moving_s = np.clip(time_s - plan.lead_s, 0.0, plan.cycles / plan.frequency_hz)
    return plan.peak_velocity_deg_s * np.sin(2 * np.pi * plan.frequency_hz * moving_s)


def _trapezoid(plan: TrialPlan, time_s: FloatArray) -> FloatArray:
    speed = plan.velocity_deg_s if plan.direction == "right" else -plan.velocity_deg_s
    corners = (
        plan.lead_s,
        plan.lead_s + plan.ramp_s,
        plan.stop_at_s,
        plan.stop_at_s + plan.ramp_s,
    )
    return np.interp(time_s, corners, (0.0, speed, speed, 0.0))


def cycles_for(frequency_hz: float) -> float:
    """A usual number of cycles: few at low frequencies, more at high ones (common practice)."""
    return float(np.clip(np.round(100.0 * frequency_hz), 3, 16)) if frequency_hz != 0.02 else 4.0


def sinusoid(frequency_hz: float, *, vision: str = "dark") -> TrialPlan:
    """A usual sinusoidal trial."""
    name = "fix" if vision == "head-fixed target" else "sin"
    return TrialPlan(
        id=f"{name}-{frequency_hz:g}",
        kind="sinusoid",
        vision=vision,
        frequency_hz=frequency_hz,
        cycles=cycles_for(frequency_hz),
    )


def step(direction: Literal["right", "left"]) -> TrialPlan:
    """A usual velocity step."""
    return TrialPlan(id=f"step-{direction}", kind="step", direction=direction)


def standard_protocol() -> tuple[TrialPlan, ...]:
    """Spontaneous nystagmus, seven sinusoids, suppression at two frequencies, both steps."""
    return (
        TrialPlan(id="spontaneous-dark", kind="spontaneous"),
        TrialPlan(id="spontaneous-light", kind="spontaneous", vision="light", duration_s=30.0),
        *(sinusoid(frequency) for frequency in PRACTICE_FREQUENCIES_HZ),
        sinusoid(0.04, vision="head-fixed target"),
        sinusoid(0.32, vision="head-fixed target"),
        step("right"),
        step("left"),
    )
