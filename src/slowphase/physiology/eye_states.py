"""How saccades come in different states: in the dark, fixating, catching up, vertically.

Rates, sizes and limits are common practice, no source.
"""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.oculomotor import (
    EyeMotion,
    Oculomotor,
    QuickPhases,
    eye_motion,
    saccade_velocity,
    wandering,
)
from slowphase.physiology.person import Person
from slowphase.physiology.roving import tired_quick_phases

FIXATING_EYE = QuickPhases(
    rest_per_s=0.6,
    busy_per_s=2.4,
    field_deg=0.0,
    overshoot=0.0,
    scatter_deg=0.35,
    limit_deg=4.0,
    smallest_deg=0.15,
)
VERTICAL_EYE = QuickPhases(
    rest_per_s=0.2, busy_per_s=2.0, field_deg=1.0, scatter_deg=1.0, limit_deg=10.0
)
CATCHING_UP = QuickPhases(
    rest_per_s=1.0,
    busy_per_s=2.0,
    busy_deg_s=3.0,
    refractory_s=0.25,
    field_deg=0.0,
    overshoot=0.0,
    scatter_deg=0.15,
    smallest_deg=0.15,
)
FIXATING_DRIFT = 0.4  # share of the drift that a target leaves; chosen


def eye_in_the_dark(person: Person) -> Oculomotor:
    """The oculomotor system when nothing is to be seen."""
    eye = person.oculomotor
    return replace(eye, quick=tired_quick_phases(person.alertness, eye.quick))


def eye_on_a_target(person: Person) -> Oculomotor:
    """The oculomotor system while a target is looked at."""
    eye = person.oculomotor
    quick = FIXATING_EYE
    if eye.catch_up_deg is not None:
        quick = replace(CATCHING_UP, limit_deg=eye.catch_up_deg)
    return replace(eye, quick=quick, drift_deg_s=FIXATING_DRIFT * eye.drift_deg_s)


def upright_motion(
    eye: Oculomotor,
    horizontal: EyeMotion,
    upward_deg_s: float | FloatArray,
    rng: np.random.Generator,
) -> EyeMotion:
    """The vertical plane: a steady slow phase, drift, and what leaks from horizontal saccades."""
    count = horizontal.position_deg.size
    drift = wandering(eye.drift_deg_s, eye.drift_s, count, rng)
    leaked = saccade_velocity(horizontal.saccades, count, share=eye.vertical_leak)
    upright = replace(eye, quick=VERTICAL_EYE, jerks_per_min=0.0)
    return eye_motion(upright, upward_deg_s + drift, rng, extra_deg_s=leaked)


def drifting(eye: Oculomotor, count: int, rng: np.random.Generator) -> FloatArray:
    """Slow random velocity of this eye on the grid, shape (n,)."""
    return wandering(eye.drift_deg_s, eye.drift_s, count, rng)
