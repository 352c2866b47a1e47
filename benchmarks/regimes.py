"""The regimes of the coverage study: invented persons, protocols and equipment, drawn at random.

Every draw depends on the regime's name and the session's number alone, so that the study is the
same on every machine and whoever runs it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal
from zlib import crc32

import numpy as np

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.labyrinth import Direction, Reflex
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, cycles_for, step
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import SimulatedTrial, simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.storage import Dynamics

SEED = 20261125
SIDES: tuple[Literal["right", "left"], ...] = ("right", "left")
FREQUENCIES_HZ = (0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
Generator = np.random.Generator


def nobody_special(rng: Generator) -> Person:
    """A reflex anywhere between a partial loss and a lively one, sides alike or not quite."""
    gain, decay_s = rng.uniform(0.3, 0.9), rng.uniform(7.0, 24.0)
    side = np.exp(0.15 * rng.standard_normal(2))
    length = np.exp(0.1 * rng.standard_normal(2))
    adaptation_s = float(np.exp(rng.normal(np.log(90.0), 0.4)))
    right, left = (
        Direction(
            gain=float(gain * g),
            dynamics=Dynamics(decay_s=float(decay_s * t), adaptation_s=adaptation_s),
        )
        for g, t in zip(side, length, strict=True)
    )
    return Person(
        reflex=Reflex(right=right, left=left),
        spontaneous=Spontaneous(bias_deg_s=float(rng.normal(0.0, 1.0))),
        oculomotor=Oculomotor(gaze_leak_per_s=float(rng.uniform(0.0, 0.05))),
    )


def acute(rng: Generator) -> Person:
    """One side much weaker, and a nystagmus of 8 to 30 deg/s away from it."""
    person = nobody_special(rng)
    way = float(rng.choice([-1.0, 1.0]))
    speed = rng.uniform(8.0, 30.0)
    weak, strong = person.reflex.left, person.reflex.right
    weak = replace(weak, gain=weak.gain * rng.uniform(0.4, 0.8))
    sides = (weak, strong) if way > 0 else (strong, weak)
    return replace(
        person,
        reflex=replace(person.reflex, right=sides[0], left=sides[1]),
        spontaneous=Spontaneous(bias_deg_s=float(way * speed)),
    )


def drowsy(rng: Generator) -> Person:
    """Lapses of alertness, a wandering strength of the response, eyes that drift more."""
    person = nobody_special(rng)
    return replace(
        person,
        alertness=Alertness(lapses_per_min=float(rng.uniform(0.3, 0.9)), waver=0.02, waver_s=4.0),
        oculomotor=replace(person.oculomotor, drift_deg_s=0.5),
    )


def protocol(
    rng: Generator, cycles: Callable[[float], float], turning_s: float
) -> tuple[TrialPlan, ...]:
    """Eight trials: rest, three sinusoids in the dark, two with a target, both steps."""
    dark = rng.choice(FREQUENCIES_HZ, 3, replace=False)
    plans = [TrialPlan(id="rest", kind="spontaneous", duration_s=40.0)]
    for index, frequency in enumerate([*dark, *dark[:2]]):
        target = index >= 3
        plans.append(
            TrialPlan(
                id=f"{'fix' if target else 'sin'}-{frequency:g}",
                kind="sinusoid",
                vision="head-fixed target" if target else "dark",
                frequency_hz=float(frequency),
                cycles=cycles(float(frequency)),
                recorded_from_s=0.0,
            )
        )
    turns = [replace(step(side), rotation_s=turning_s, rest_s=turning_s) for side in SIDES]
    return (*plans, *turns)


def usual_cycles(frequency_hz: float) -> float:
    """The standard number of cycles, at most two minutes of them and at least two."""
    return max(2.0, min(cycles_for(frequency_hz), np.floor(120.0 * frequency_hz)))


def few_cycles(frequency_hz: float) -> float:
    """One cycle at low frequencies, three at high ones."""
    return 1.0 if frequency_hz < 0.1 else 3.0


@dataclass(frozen=True, slots=True)
class Regime:
    """Who is examined, with how many cycles, for how long a step, and with what equipment."""

    person: Callable[[Generator], Person] = nobody_special
    cycles: Callable[[float], float] = usual_cycles
    turning_s: float = 60.0
    equipment: Equipment = field(default_factory=Equipment)


REGIMES: dict[str, Regime] = {
    "clean": Regime(equipment=Equipment(noise_deg=0.03, losses_per_min=0.0)),
    "noisy": Regime(equipment=Equipment(sampling_hz=120.0, noise_deg=0.5)),
    "drowsy": Regime(person=drowsy),
    "few cycles": Regime(cycles=few_cycles, turning_s=30.0),
    "strong nystagmus": Regime(person=acute),
}


def session(name: str, number: int) -> tuple[Person, Equipment, tuple[SimulatedTrial, ...]]:
    """Session ``number`` of a regime, with who it was and how it was recorded."""
    regime = REGIMES[name]
    own = [SEED, crc32(name.encode()), number]
    rng = np.random.default_rng(own)
    person = regime.person(rng)
    plans = protocol(rng, regime.cycles, regime.turning_s)
    trials = simulate(person, plans, regime.equipment, seed=int(rng.integers(2**31)))
    return person, regime.equipment, trials
