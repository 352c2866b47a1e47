"""Invented sessions, reduced to their slow phases, for the tests of the whole-session fit."""

from functools import cache

import numpy as np

from benchmarks.reduced import reduced_session
from slowphase.measures.result import TrialResult
from slowphase.physiology.labyrinth import Direction, Reflex
from slowphase.physiology.labyrinths import Labyrinths, gaze_leak_per_s, imbalance_of, reflex_of
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.storage import Dynamics

PLANTED_DEG = 12.0
GRID_HZ = 100.0


def person_of(labyrinths: Labyrinths) -> Person:
    return Person(
        reflex=reflex_of(labyrinths),
        spontaneous=imbalance_of(labyrinths),
        oculomotor=Oculomotor(gaze_leak_per_s=gaze_leak_per_s(labyrinths)),
    )


def uneven(bias_deg_s: float = -3.0) -> Person:
    """A reflex whose every parameter differs from the fit's starting values."""
    sides = (
        Direction(gain=0.62, dynamics=Dynamics(14.0, 110.0)),
        Direction(gain=0.44, dynamics=Dynamics(10.0, 110.0)),
    )
    return Person(
        reflex=Reflex(right=sides[0], left=sides[1], latency_s=0.012),
        spontaneous=Spontaneous(bias_deg_s=bias_deg_s),
        oculomotor=Oculomotor(gaze_leak_per_s=0.03),
    )


def mirrored(person: Person) -> Person:
    reflex = person.reflex
    return Person(
        reflex=Reflex(right=reflex.left, left=reflex.right, latency_s=reflex.latency_s),
        spontaneous=Spontaneous(bias_deg_s=-person.spontaneous.bias_deg_s),
        oculomotor=person.oculomotor,
    )


def ahead(plan: TrialPlan, head: np.ndarray) -> np.ndarray:
    """The motion of the chair some degrees earlier or later, at two frequencies."""
    if plan.vision != "dark" or plan.frequency_hz not in (0.04, 0.16):
        return head
    return np.roll(head, round(PLANTED_DEG / 360.0 / plan.frequency_hz * GRID_HZ))


@cache
def measured(person: Person, seed: int, *, planted: bool = False) -> tuple[TrialResult, ...]:
    rng = np.random.default_rng([20261125, seed])
    disturb = ahead if planted else None
    return reduced_session(person, standard_protocol(), rng, disturb=disturb)
