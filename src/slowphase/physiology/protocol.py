"""What is asked in each trial: of the chair, of the targets, of the examiner."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import FloatArray

PRACTICE_FREQUENCIES_HZ = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)  # octaves: common practice
PEAK_DEG_S = 60.0
STEP_DEG_S = 100.0
IMPULSE_EVERY_S = 2.5
PURSUIT_DEG = 15.0
CHECK_DEG = 10.0
CALIBRATION_DEG = (0.0, -10.0, 10.0, -10.0, 10.0, 0.0)
SACCADE_DEG = (10.0, -5.0, 15.0, 0.0, -20.0, -5.0, 10.0, -10.0, 0.0, 20.0, 5.0, -15.0, 5.0, -5.0)

Kind = Literal[
    "calibration",
    "spontaneous",
    "gaze",
    "saccade",
    "pursuit",
    "optokinetic",
    "sinusoid",
    "step",
    "caloric",
    "impulse",
    "head-shaking",
    "positional",
    "check",
]


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """One trial as it is asked of the chair and the patient.

    Velocities in deg/s. The chair rests for ``lead_s`` before and ``tail_s`` after the motion; the
    recording begins ``recorded_from_s`` into all this. A sinusoid, pursuit or head-shaking makes
    ``cycles``, a step turns for ``rotation_s`` and rests for ``rest_s``, as does the scene of an
    optokinetic trial; head-shaking rests so too. ``delivered`` is the share of the velocity that
    the chair really reaches, ``stopped_after_s`` where the trial was broken off, and ``pause_s``
    the time since the trial before. ``light_leak`` is the share (0–1) by which an earth-fixed
    scene is seen in the dark (see ``scene.py``).

    A target is at each of ``targets_deg`` for ``hold_s`` (calibration, saccade), or at
    ``eccentricity_deg`` (gaze; right is positive). ``ear``, ``temperature_c``, ``medium``,
    ``irrigation_s`` and ``fixation_s`` (from, to) belong to a caloric, ``impulses`` is how many
    head impulses are given. A positional trial reaches ``position`` after ``lead_s``, out of
    ``from_position``; ``sits_up_from`` names the trial of that position.
    ``eye_fixed_to`` is where the eye of a check is fixed.
    """

    id: str
    kind: Kind
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
    targets_deg: tuple[float, ...] = ()
    hold_s: float = 2.0
    eccentricity_deg: float = 0.0
    ear: Literal["right", "left"] = "right"
    temperature_c: float = 44.0
    medium: Literal["water", "air"] = "water"
    irrigation_s: float = 30.0
    fixation_s: tuple[float, float] | None = None
    impulses: int = 20
    position: str = "sitting"
    from_position: str = ""
    sits_up_from: str = ""
    eye_fixed_to: Literal["head", "room"] = "head"

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
        if self.kind in ("sinusoid", "pursuit", "check"):
            return self.cycles / self.frequency_hz
        if self.kind == "head-shaking":
            return self.cycles / self.frequency_hz + self.rest_s
        if self.kind in ("calibration", "saccade"):
            return len(self.targets_deg) * self.hold_s
        if self.kind == "impulse":
            return self.impulses * IMPULSE_EVERY_S
        if self.kind == "optokinetic":
            return self.rotation_s + self.rest_s
        return 2 * self.ramp_s + self.rotation_s + self.rest_s if self.kind == "step" else 0.0


def head_velocity(plan: TrialPlan, time_s: FloatArray) -> FloatArray:
    """Chair velocity in deg/s, positive to the right, shape (n,)."""
    if plan.kind in ("sinusoid", "head-shaking", "check"):
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


def jumps_of(plan: TrialPlan) -> list[tuple[float, float]]:
    """When (s) a target jumps, and where to (deg)."""
    if plan.kind == "gaze":
        return [(plan.lead_s, plan.eccentricity_deg)]
    return [(plan.lead_s + plan.hold_s * i, place) for i, place in enumerate(plan.targets_deg)]


def targets(kind: Literal["calibration", "saccade"]) -> TrialPlan:
    """A usual calibration, or saccades of 5 to 30 deg."""
    places = CALIBRATION_DEG if kind == "calibration" else SACCADE_DEG
    hold_s = 2.0 if kind == "calibration" else 1.6
    return TrialPlan(
        id=kind, kind=kind, vision="light", targets_deg=places, hold_s=hold_s, pause_s=15.0
    )


def gaze(eccentricity_deg: float, *, vision: str = "light") -> TrialPlan:
    """Looking to one side, right positive."""
    side = "right" if eccentricity_deg > 0 else "left"
    return TrialPlan(
        id=f"gaze-{side}-{vision}",
        kind="gaze",
        vision=vision,
        eccentricity_deg=eccentricity_deg,
        duration_s=25.0,
        pause_s=10.0,
    )


def pursuit(frequency_hz: float) -> TrialPlan:
    """A target that swings by 15 deg to either side."""
    return TrialPlan(
        id=f"pursuit-{frequency_hz:g}",
        kind="pursuit",
        vision="light",
        frequency_hz=frequency_hz,
        peak_velocity_deg_s=round(2 * float(np.pi) * frequency_hz * PURSUIT_DEG, 1),
        cycles=float(max(3, round(30 * frequency_hz))),
        pause_s=10.0,
    )


def optokinetic(direction: Literal["right", "left"]) -> TrialPlan:
    """A scene at 30 deg/s for half a minute, then half a minute of darkness."""
    return TrialPlan(
        id=f"optokinetic-{direction}",
        kind="optokinetic",
        vision="light",
        direction=direction,
        velocity_deg_s=30.0,
        rotation_s=30.0,
        rest_s=30.0,
    )


def caloric(ear: Literal["right", "left"], temperature_c: float) -> TrialPlan:
    """Half a minute of water 7 °C from body temperature, a target for 10 s after the peak."""
    name = "warm" if temperature_c > 37.0 else "cool"
    return TrialPlan(
        id=f"caloric-{ear}-{name}",
        kind="caloric",
        ear=ear,
        temperature_c=temperature_c,
        lead_s=5.0,
        duration_s=150.0,
        fixation_s=(85.0, 95.0),
        pause_s=300.0,
    )


def impulse() -> TrialPlan:
    """Twenty horizontal head impulses."""
    return TrialPlan(id="impulse-horizontal", kind="impulse", vision="light")


def head_shaking() -> TrialPlan:
    """Thirty shakes at 2 Hz in the dark, then rest."""
    return TrialPlan(
        id="head-shaking",
        kind="head-shaking",
        frequency_hz=2.0,
        peak_velocity_deg_s=120.0,
        cycles=30.0,
        rest_s=40.0,
    )


def positional(side: Literal["right", "left"], *, rising: bool = False) -> TrialPlan:
    """Lying down with the head hanging to one side, or sitting up again."""
    lying = f"{side}, head hanging"
    plan = TrialPlan(
        id=f"position-{side}", kind="positional", position=lying, duration_s=50.0, pause_s=10.0
    )
    if not rising:
        return plan
    return replace(
        plan,
        id=f"position-{side}-up",
        position="sitting",
        from_position=lying,
        sits_up_from=plan.id,
        pause_s=30.0,
    )


def full_protocol() -> tuple[TrialPlan, ...]:
    """Targets, gaze, pursuit, optokinetic, the chair, head shaking, impulses, calorics."""
    return (
        targets("calibration"),
        targets("saccade"),
        *(gaze(place, vision=vision) for vision in ("light", "dark") for place in (20.0, -20.0)),
        *(pursuit(frequency) for frequency in (0.1, 0.2, 0.4)),
        optokinetic("right"),
        optokinetic("left"),
        *standard_protocol(),
        head_shaking(),
        impulse(),
        caloric("right", 44.0),
        caloric("left", 44.0),
        caloric("right", 30.0),
        caloric("left", 30.0),
    )


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


def check(frequency_hz: float, eye_fixed_to: Literal["head", "room"]) -> TrialPlan:
    """A check of chair and recorder; an eye in the room is swung by 10 deg to either side."""
    small = round(2 * float(np.pi) * frequency_hz * CHECK_DEG, 1)
    return TrialPlan(
        id=f"check-{eye_fixed_to}-{frequency_hz:g}",
        kind="check",
        frequency_hz=frequency_hz,
        peak_velocity_deg_s=small if eye_fixed_to == "room" else PEAK_DEG_S,
        cycles=cycles_for(frequency_hz),
        eye_fixed_to=eye_fixed_to,
        pause_s=10.0,
    )


def check_protocol() -> tuple[TrialPlan, ...]:
    """Two motions with an eye that is fixed to the head, three with one in the room."""
    fixed = (check(frequency, "head") for frequency in (0.04, 0.32))
    return (*fixed, *(check(frequency, "room") for frequency in (0.16, 0.32, 0.64)))
