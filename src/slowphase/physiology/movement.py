"""What moves in one trial: both planes of the eye, the head, and the target."""

from dataclasses import dataclass, field

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.alertness import Lapse, alert_factor
from slowphase.physiology.oculomotor import (
    GRID_HZ,
    EyeMotion,
    Oculomotor,
    Saccades,
    merged,
    ringing,
    saccade_velocity,
)
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.spontaneous import bias_at
from slowphase.physiology.transfer import leaky_integral
from slowphase.physiology.truth import Measures


@dataclass(frozen=True, slots=True)
class Movement:
    """All on the grid, arrays of shape (n,).

    ``head_deg_s`` is head velocity; ``target_deg`` where the target is, None without one.
    ``torsional`` is the third plane, where it is simulated.
    ``measures`` are the true ones, ``events`` true times (s) and sizes by name.
    """

    horizontal: EyeMotion
    vertical: EyeMotion
    head_deg_s: FloatArray
    measures: Measures
    target_deg: FloatArray | None = None
    events: dict[str, tuple[float, ...]] = field(default_factory=dict)
    torsional: EyeMotion | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """When and in which state a trial is made."""

    session_time_s: float
    lapses: tuple[Lapse, ...]
    rng: np.random.Generator


def grid_of(plan: TrialPlan) -> FloatArray:
    """The times of the trial on the grid, s."""
    return np.arange(int(plan.length_s * GRID_HZ)) / GRID_HZ


def dark_bias(person: Person, moment: Moment, time_s: FloatArray) -> FloatArray:
    """The spontaneous nystagmus of an alert person in the dark, deg/s, shape (n,)."""
    return bias_at(person.spontaneous, moment.session_time_s + time_s)


def alertness_at(person: Person, moment: Moment, time_s: FloatArray) -> FloatArray:
    """The factor of alertness, shape (n,)."""
    return alert_factor(person.alertness, moment.lapses, time_s)


def held_at(saccades: Saccades, count: int, *, start_deg: float = 0.0) -> FloatArray:
    """Where saccades alone would put the eye, deg, shape (n,)."""
    return start_deg + leaky_integral(0.0, saccade_velocity(saccades, count), GRID_HZ)


def around(place_deg: FloatArray, steps: Saccades, near: EyeMotion, eye: Oculomotor) -> EyeMotion:
    """Motion ``near`` a place that saccades ``steps`` change; (n,) and its own saccades joined."""
    after = near.ringing_deg + ringing(steps, eye.oscillation, place_deg.size)
    return EyeMotion(
        place_deg + near.position_deg, near.slow_phase_deg_s, merged(near.saccades, steps), after
    )
