"""A trial in a position: lying down on one side, or sitting up again, in the dark."""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.eye_states import (
    VERTICAL_EYE,
    drifting,
    eye_in_the_dark,
    upright_motion,
)
from slowphase.physiology.movement import Moment, Movement, alertness_at, dark_bias, grid_of
from slowphase.physiology.oculomotor import GRID_HZ, eye_motion
from slowphase.physiology.person import Person
from slowphase.physiology.positional import positional_velocity
from slowphase.physiology.protocol import TrialPlan

PEAK_S = 2.0  # a positional peak is told as the mean of so many seconds


def positional_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """The position is reached after ``lead_s``.

    True measures: ``vertical/peak`` and ``torsional/peak`` (deg/s, signed, means of the strongest
    two seconds, alert); ``latency`` and ``decay`` (s: onset, and from the peak to 1/e of it).
    """
    time_s = grid_of(plan)
    since = time_s - plan.lead_s
    upward, turning = positional_velocity(
        person.positional, plan.position, plan.from_position, since
    )
    alert = alertness_at(person, moment, time_s)
    eye = eye_in_the_dark(person)
    bias = dark_bias(person, moment, time_s)
    drift = drifting(eye, time_s.size, moment.rng)
    across = eye_motion(eye, alert * bias + drift, moment.rng)
    steady = person.spontaneous.vertical_deg_s
    up = upright_motion(eye, across, alert * (upward + steady), moment.rng)
    own = drifting(eye, time_s.size, moment.rng)
    torsional = replace(eye, quick=VERTICAL_EYE, jerks_per_min=0.0)
    turned = eye_motion(torsional, alert * turning + own, moment.rng)
    throughout = person.alertness.throughout
    measures = told(person, throughout * (upward + steady), throughout * turning)
    return Movement(across, up, np.zeros(time_s.size), measures, torsional=turned)


def told(person: Person, upward: FloatArray, turning: FloatArray) -> dict[str, float | None]:
    """The true measures of a burst; None where there is none."""
    width = int(PEAK_S * GRID_HZ)
    window = np.ones(width) / width
    course = np.abs(upward - person.alertness.throughout * person.spontaneous.vertical_deg_s)
    if not course.any():
        names = ("vertical/peak", "torsional/peak", "latency", "decay")
        return dict.fromkeys(names)
    sums = {
        name: np.convolve(v, window, mode="valid") for name, v in (("v", upward), ("t", turning))
    }
    at = int(np.argmax(np.abs(sums["v"])))
    top = int(np.argmax(course))
    fallen = top + int(np.argmax(course[top:] <= course[top] / np.e))
    return {
        "vertical/peak": float(sums["v"][at]),
        "torsional/peak": float(sums["t"][at]),
        "latency": person.positional.onset_s,
        "decay": (fallen - top) / GRID_HZ if fallen > top else None,
    }
