"""A check of chair and recorder: an eye that is fixed to the head, or in the room."""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.movement import Moment, Movement, grid_of
from slowphase.physiology.oculomotor import GRID_HZ, EyeMotion, Saccades
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, head_velocity

NONE = np.array([])
NO_SACCADES = Saccades(NONE, NONE, NONE, NONE)


def check_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """The chair moves; nobody sits in it, and the eye is a picture of one.

    True measures: ``delivered`` (%), and ``eye_gain`` 1 of an eye in the room.
    """
    time_s = grid_of(plan)
    head = head_velocity(plan, time_s)
    in_the_room = plan.eye_fixed_to == "room"
    seen = -head if in_the_room else np.zeros(time_s.size)
    measures: dict[str, float | None] = {"delivered": 100.0 * plan.delivered}
    if in_the_room:
        measures["eye_gain"] = 1.0
    return Movement(moving(seen), moving(np.zeros(time_s.size)), head, measures)


def moving(velocity_deg_s: FloatArray) -> EyeMotion:
    """An eye that moves with this velocity and makes no saccade, around straight ahead."""
    between = 0.5 * (velocity_deg_s[1:] + velocity_deg_s[:-1]) / GRID_HZ
    position = np.concatenate(([0.0], np.cumsum(between)))
    still = np.zeros(position.size)
    return EyeMotion(position - 0.5 * (position.max() + position.min()), velocity_deg_s,
                     NO_SACCADES, still)  # fmt: skip
