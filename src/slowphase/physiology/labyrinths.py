"""From two labyrinths to one reflex: what a loss does, and what compensation gives back.

Each labyrinth has a degree of function w, from 0 (none) to 1. Turning to the right excites the
right one and inhibits the left one, and excitation weighs more (share a > ½):

    gain, right excited     g_R = G·k·(a·w_R + (1 − a)·w_L)
    of it from inhibition   (1 − a)·w_L / (a·w_R + (1 − a)·w_L)
    side that is inhibited  silent from r₀/s on, r₀ resting rate, s sensitivity (Ewald's second law)
    side that is excited    saturates at (r_max − r₀)/s
    decay, right excited    T_R = Tc·√m + (T₀·storage − Tc)·m²·q_R,  m = (w_R + w_L)/2
                            q_R = (a·w_R² + (1 − a)·w_L²) / (a·w_R + (1 − a)·w_L)
    spontaneous nystagmus   b = ρ·(w_L − w_R)·(1 − c)^p
    leak of gaze holding    k_gaze + k_acute·|w_R − w_L|·(1 − c)   (Alexander's law)

and mirrored for the left. A labyrinth charges the velocity store as well as it works (q), so that
one that is left alone serves both directions alike; a loss of the right one gives a positive
(rightward) slow phase, which beats to the left. Compensation c, from 0 (acute) to 1, takes the
bias away, brings a toward ½ by half of the way, and raises the gain by k = 1 + κ·c·|w_R − w_L|:
the better side makes up for the worse one. It leaves the decay as it is, and where both are
equally weak it can do nothing. So a compensated loss lacks gain and leads at low frequencies and
is near normal at high ones, and a severe loss of both keeps more at high frequencies than at low.

Sources. Pattern of the decay (falls with paresis both ways; sides differ for partial ones): Perez
et al. 2001, abstract read. Compensated loss: Acta Otolaryngol Suppl 1984, read. The form of the
equations, a, κ, p, ρ and the leak are chosen; r₀, s and r_max are from memory, unverified.
"""

from dataclasses import dataclass, field

import numpy as np

from slowphase.physiology.canal import CUPULA_S
from slowphase.physiology.labyrinth import GAIN, LATENCY_S, Direction, Reflex
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.storage import ADAPTATION_S, DECAY_S, Dynamics

SHORTEST_DECAY_S = 0.5  # where nothing works, a decay is still asked for
GAZE_LEAK_PER_S = 0.02  # of a healthy person; chosen


@dataclass(frozen=True, slots=True)
class Wiring:
    """What is central, or the same in every labyrinth.

    ``gain`` is G, ``excitation_share`` a (½–1), ``resting_per_s`` r₀ and ``largest_per_s`` r_max
    in spikes/s, ``sensitivity`` s in spikes/s for 1 deg/s of filtered head velocity,
    ``cupula_s`` Tc, ``decay_s`` T₀, ``imbalance_deg_s`` ρ, ``fading_power`` p, ``made_up`` κ,
    ``rebalanced`` the part of a − ½ that compensation takes away, ``acute_leak_per_s`` k_acute.
    """

    gain: float = GAIN
    excitation_share: float = 0.6
    resting_per_s: float = 90.0
    largest_per_s: float = 400.0
    sensitivity: float = 0.5
    cupula_s: float = CUPULA_S
    decay_s: float = DECAY_S
    adaptation_s: float = ADAPTATION_S
    latency_s: float = LATENCY_S
    imbalance_deg_s: float = 25.0
    fading_power: float = 2.0
    made_up: float = 0.45
    rebalanced: float = 0.5
    acute_leak_per_s: float = 0.04

    @property
    def cutoff_deg_s(self) -> float:
        """Filtered head velocity that silences the inhibited side."""
        return self.resting_per_s / self.sensitivity

    @property
    def saturation_deg_s(self) -> float:
        """Filtered head velocity beyond which the excited side has no more to give."""
        return (self.largest_per_s - self.resting_per_s) / self.sensitivity


@dataclass(frozen=True, slots=True)
class Labyrinths:
    """Degrees of function w (0–1), ``compensated`` c (0–1) and ``storage``, a factor of T₀."""

    right: float = 1.0
    left: float = 1.0
    compensated: float = 0.0
    storage: float = 1.0
    wiring: Wiring = field(default_factory=Wiring)


def reflex_of(labyrinths: Labyrinths) -> Reflex:
    """The reflex that two labyrinths make."""
    right, left = labyrinths.right, labyrinths.left
    return Reflex(
        right=_direction(labyrinths, right, left),
        left=_direction(labyrinths, left, right),
        latency_s=labyrinths.wiring.latency_s,
    )


def imbalance_of(labyrinths: Labyrinths) -> Spontaneous:
    """The spontaneous nystagmus of a static imbalance; its bias is signed as slow phase."""
    wiring = labyrinths.wiring
    left_over = (1.0 - labyrinths.compensated) ** wiring.fading_power
    return Spontaneous(wiring.imbalance_deg_s * (labyrinths.left - labyrinths.right) * left_over)


def gaze_leak_per_s(labyrinths: Labyrinths, *, healthy_per_s: float = GAZE_LEAK_PER_S) -> float:
    """The leak of the gaze integrator in 1/s, larger while an imbalance is acute."""
    uneven = abs(labyrinths.right - labyrinths.left) * (1.0 - labyrinths.compensated)
    return healthy_per_s + labyrinths.wiring.acute_leak_per_s * uneven


def excitation_share(labyrinths: Labyrinths) -> float:
    """The share a of excitation in the gain, after compensation."""
    wiring = labyrinths.wiring
    moved = wiring.rebalanced * labyrinths.compensated
    return wiring.excitation_share - moved * (wiring.excitation_share - 0.5)


def _direction(labyrinths: Labyrinths, excited: float, inhibited: float) -> Direction:
    wiring = labyrinths.wiring
    share = excitation_share(labyrinths)
    by_inhibition = (1.0 - share) * inhibited
    whole = share * excited + by_inhibition
    made_up = 1.0 + wiring.made_up * labyrinths.compensated * abs(excited - inhibited)
    return Direction(
        gain=wiring.gain * made_up * whole,
        dynamics=Dynamics(decay_s(labyrinths, excited, inhibited), wiring.adaptation_s),
        saturation_deg_s=wiring.saturation_deg_s,
        inhibited_share=by_inhibition / whole if whole else 0.0,
        cutoff_deg_s=wiring.cutoff_deg_s,
    )


def decay_s(labyrinths: Labyrinths, excited: float, inhibited: float) -> float:
    """The effective decay when the first of two labyrinths is excited, s."""
    wiring, share = labyrinths.wiring, labyrinths.wiring.excitation_share
    mean = (excited + inhibited) / 2.0
    whole = share * excited + (1.0 - share) * inhibited
    if not whole:
        return SHORTEST_DECAY_S
    quality = (share * excited**2 + (1.0 - share) * inhibited**2) / whole
    stored = wiring.decay_s * labyrinths.storage - wiring.cupula_s
    decay = wiring.cupula_s * np.sqrt(mean) + stored * mean**2 * quality
    return float(max(decay, SHORTEST_DECAY_S))
