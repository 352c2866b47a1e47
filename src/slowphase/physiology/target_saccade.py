"""Saccades to a target that jumps: when they come, how far they get, and how they are put right.

    onset      = jump + latency·exp(spread·n),  n normal
    first      = (accuracy + accuracy_spread·n)·error
    corrective = the same share of what is left, correction_s after the end of the one before,
                 while more than corrected_beyond_deg is left

Latency about 200 ms and a small undershoot are common practice, no source; the spreads are chosen.
Speed and length follow the main sequence (see ``saccade.py``).
"""

from dataclasses import dataclass, field

import numpy as np

from slowphase.physiology.oculomotor import Saccades
from slowphase.physiology.saccade import MainSequence, duration_s, peak_velocity

Row = tuple[float, float, float, float]  # onset and length in s, size in deg, peak in deg/s


@dataclass(frozen=True, slots=True)
class TargetSaccades:
    """``latency_s`` in s with its relative ``latency_spread``; ``accuracy`` as a share of the jump.

    ``correction_s`` is the wait before a corrective saccade, ``corrected_beyond_deg`` the error
    that is left alone.
    """

    latency_s: float = 0.2
    latency_spread: float = 0.15
    accuracy: float = 0.94
    accuracy_spread: float = 0.04
    correction_s: float = 0.16
    corrected_beyond_deg: float = 0.4
    sequence: MainSequence = field(default_factory=MainSequence)


@dataclass(frozen=True, slots=True)
class Answer:
    """The first saccade to one jump: latency in s, jump and size in deg, signed, peak in deg/s."""

    latency_s: float
    jump_deg: float
    amplitude_deg: float
    peak_deg_s: float


def shaped(
    sequence: MainSequence, onset_s: float, amplitude_deg: float, rng: np.random.Generator
) -> Row:
    """Onset, length, size and signed peak of a saccade of this size on the main sequence."""
    scatter = float(np.exp(sequence.scatter * rng.standard_normal()))
    peak = peak_velocity(sequence, amplitude_deg) * scatter
    signed = float(np.copysign(peak, amplitude_deg))
    return onset_s, duration_s(amplitude_deg, peak), amplitude_deg, signed


def gathered(rows: list[Row]) -> Saccades:
    """Rows of onset, length, size and peak as saccades."""
    return Saccades(*np.asarray(rows, dtype=float).reshape(-1, 4).T.copy())


def answers(
    habit: TargetSaccades,
    jumps: list[tuple[float, float]],
    until_s: float,
    rng: np.random.Generator,
    *,
    start_deg: float = 0.0,
) -> tuple[Saccades, tuple[Answer, ...]]:
    """All saccades to a target that is at each place (deg) from each time (s) on, and the first
    one to each jump. The eye begins at ``start_deg``; saccades end before ``until_s``."""
    rows: list[Row] = []
    first: list[Answer] = []
    eye_deg = start_deg
    ends = [when for when, _ in jumps[1:]] + [until_s]
    for (when, place), end in zip(jumps, ends, strict=True):
        error = place - eye_deg
        late = habit.latency_s * float(np.exp(habit.latency_spread * rng.standard_normal()))
        made = _to_one(habit, when + late, error, end, rng)
        if made:
            first.append(Answer(late, error, made[0][2], made[0][3]))
        rows += made
        eye_deg += sum(row[2] for row in made)
    return gathered(rows), tuple(first)


def _to_one(
    habit: TargetSaccades, onset_s: float, error: float, end_s: float, rng: np.random.Generator
) -> list[Row]:
    made: list[Row] = []
    while abs(error) > habit.corrected_beyond_deg and onset_s < end_s - 0.1:
        share = habit.accuracy + habit.accuracy_spread * rng.standard_normal()
        saccade = shaped(habit.sequence, onset_s, share * error, rng)
        made.append(saccade)
        error -= share * error
        onset_s += saccade[1] + habit.correction_s
    return made
