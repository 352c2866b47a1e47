"""Velocity storage and adaptation: why the reflex outlasts the cupula, and then reverses.

One effective decay T (cupula and storage together) with adaptation Ta:

    H(s) = s²·T·Ta / ((1 + s·T)(1 + s·Ta))

Two stages: the cupula signal c and a leaky store x that it charges,

    x' = −x/Ts + w·(1/Tc − 1/Ts)·c,   output c + x,

whose output decays with Ts alone when w = 1 (the store exactly makes up for the cupula) and as a
sum of both exponentials when w < 1.

Defaults: healthy adults lead by 42–45° at 0.01 Hz (Yu et al. 2022, abstract and first table
read), which T = 20 s with Ta = 175 s gives; upright T = 19.6 ± 3.2 s (Hain, Buettner 1990,
abstract read).
"""

from dataclasses import dataclass

from slowphase.physiology.canal import CUPULA_S, cupula
from slowphase.physiology.transfer import Transfer, high_pass

DECAY_S = 20.0
ADAPTATION_S = 175.0


@dataclass(frozen=True, slots=True)
class Dynamics:
    """How long the reflex lasts.

    ``decay_s`` is T, or Ts of the two-stage variant; ``adaptation_s`` is Ta, infinite for none.
    ``cupula_s`` turns the two-stage variant on, and ``store_weight`` is its w.
    """

    decay_s: float = DECAY_S
    adaptation_s: float = ADAPTATION_S
    cupula_s: float | None = None
    store_weight: float = 1.0


def effective(decay_s: float = DECAY_S, adaptation_s: float = ADAPTATION_S) -> Transfer:
    """One decay with adaptation."""
    return high_pass(decay_s) * high_pass(adaptation_s)


def two_stage(store_s: float, *, cupula_s: float = CUPULA_S, store_weight: float = 1.0) -> Transfer:
    """Cupula and velocity store, without adaptation."""
    leak = 1.0 / store_s
    charge = store_weight * (1.0 / cupula_s - leak)
    return cupula(cupula_s) * Transfer((-(leak + charge),), (-leak,))


def reflex_filter(dynamics: Dynamics) -> Transfer:
    """The whole filter from head velocity to the signal that drives the eye."""
    if dynamics.cupula_s is None:
        return effective(dynamics.decay_s, dynamics.adaptation_s)
    stages = two_stage(
        dynamics.decay_s, cupula_s=dynamics.cupula_s, store_weight=dynamics.store_weight
    )
    return stages * high_pass(dynamics.adaptation_s)
