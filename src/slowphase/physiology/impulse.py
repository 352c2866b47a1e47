"""Head impulses: a short pulse of head velocity, the eye's answer, and the saccades that mend it.

    head        V·sin²(πt/D), 0 ≤ t ≤ D;  V 150–250 deg/s, D 150–200 ms
    eye         the half response of the excited direction (see ``labyrinths.py``) after the
                latency, with a gain of its own: fast motion is answered almost wholly
    gaze error  ∫ (head + eye) dt at the end of the pulse
    early       with a chance that grows with compensation, a saccade (covert) at early_s that
                takes away early_share of the error to come
    late        a saccade (overt) at late_s that takes away late_share of what is left; another
                one 0.15 s later if more than ``tolerated_deg`` still is

The area of the healthy response over that of the head is 0.94 to 0.97 (Mossman et al. 2015, n = 60,
abstract read). With one labyrinth lost the other one answers by inhibition, which goes no further
than silence (Ewald's second law): the gain falls as the head gets faster. Compensation brings no
gain back here, but earlier saccades (chosen). Latency from memory;
times of saccades (early about 100 ms, late about 200 ms) are common practice, no source; their
shares and chances are chosen. Horizontal canals only.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.labyrinth import Direction, half_response
from slowphase.physiology.labyrinths import Labyrinths, Wiring, reflex_of
from slowphase.physiology.saccade import MainSequence
from slowphase.physiology.target_saccade import Row, shaped

AGAIN_S = 0.15
SPREAD = 0.12  # relative spread of latencies and shares, chosen


@dataclass(frozen=True, slots=True)
class Impulses:
    """How fast motion is answered: ``labyrinths`` at such frequencies, ``gain`` of the whole.

    ``early_chance`` is the chance of an early saccade when acute, ``learned_chance`` what full
    compensation adds; ``early_s`` and ``late_s`` count from the start of the head's motion.
    """

    labyrinths: Labyrinths = field(default_factory=Labyrinths)
    gain: float = 1.0
    early_chance: float = 0.15
    learned_chance: float = 0.5
    early_s: float = 0.105
    early_share: float = 0.6
    late_s: float = 0.21
    late_share: float = 0.9
    tolerated_deg: float = 1.2
    sequence: MainSequence = field(default_factory=MainSequence)


@dataclass(frozen=True, slots=True)
class Pulse:
    """One impulse: when it starts, to which side (+1 right), how fast and how long (s)."""

    onset_s: float
    side: int
    peak_deg_s: float
    lasting_s: float

    @property
    def area_deg(self) -> float:
        """How far the head turns, unsigned."""
        return self.peak_deg_s * self.lasting_s / 2.0


def pulse_velocity(pulse: Pulse, time_s: FloatArray) -> FloatArray:
    """Head velocity in deg/s, signed, shape (n,)."""
    fraction = np.clip((time_s - pulse.onset_s) / pulse.lasting_s, 0.0, 1.0)
    return np.asarray(pulse.side * pulse.peak_deg_s * np.sin(np.pi * fraction) ** 2)


def fast_direction(impulses: Impulses, side: int) -> Direction:
    """The half of the reflex that a pulse to this side excites, at high frequencies."""
    wiring: Wiring = replace(impulses.labyrinths.wiring, gain=impulses.gain)
    reflex = reflex_of(replace(impulses.labyrinths, wiring=wiring, compensated=0.0))
    return reflex.right if side > 0 else reflex.left


def eye_velocity(impulses: Impulses, pulse: Pulse, time_s: FloatArray) -> FloatArray:
    """Slow eye velocity that the pulse causes, signed, shape (n,)."""
    late_s = impulses.labyrinths.wiring.latency_s
    drive = np.abs(pulse_velocity(pulse, time_s - late_s))
    return -pulse.side * half_response(fast_direction(impulses, pulse.side), drive)


def area_gain(impulses: Impulses, pulse: Pulse) -> float:
    """Area of the eye's velocity, without saccades, over that of the head's."""
    time_s = pulse.onset_s + np.arange(0.0, pulse.lasting_s + 0.05, 0.0005)
    eye = eye_velocity(impulses, pulse, time_s)
    return float(-pulse.side * np.sum(eye) * 0.0005 / pulse.area_deg)


def mending_saccades(impulses: Impulses, pulse: Pulse, rng: np.random.Generator) -> list[Row]:
    """Onset, length, size and peak of the saccades that mend the gaze after one pulse."""
    left = pulse.side * pulse.area_deg * (area_gain(impulses, pulse) - 1.0)
    chance = impulses.early_chance + impulses.learned_chance * impulses.labyrinths.compensated
    rows: list[Row] = []
    if abs(left) > impulses.tolerated_deg and rng.random() < chance:
        share = impulses.early_share * _spread(rng)
        early_s = pulse.onset_s + impulses.early_s * _spread(rng)
        rows.append(shaped(impulses.sequence, early_s, share * left, rng))
        left -= share * left
    onset_s = pulse.onset_s + impulses.late_s * _spread(rng)
    for _ in range(2):
        if abs(left) <= impulses.tolerated_deg:
            break
        onset_s = max(onset_s, rows[-1][0] + rows[-1][1] + 0.05) if rows else onset_s
        share = impulses.late_share * _spread(rng)
        rows.append(shaped(impulses.sequence, onset_s, share * left, rng))
        left -= share * left
        onset_s = rows[-1][0] + rows[-1][1] + AGAIN_S
    return rows


def _spread(rng: np.random.Generator) -> float:
    return float(np.exp(SPREAD * rng.standard_normal()))
