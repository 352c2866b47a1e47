"""Thresholds of eccentric gaze, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class GazeSettings:
    """How a gaze position is found, and what its nystagmus is called."""

    hold_block_s: float = 0.5
    """Block (s) whose median tells where the eye is: longer than a quick phase."""
    hold_share: float = 0.5
    """Share of the eccentricity that was asked for from which the position counts as held: without
    a target the eye is often short of it, and drifts back between beats."""
    hold_least_deg: float = 5.0
    """Smallest eccentricity (deg) that is no straight gaze, where the trial names a side only."""
    centre_deg: float = 7.0
    """Distance (deg) from straight ahead up to which the eye is there."""
    hold_min_s: float = 5.0
    """Least time (s) in a position that shows its nystagmus: several beats."""
    hold_settles_s: float = 0.5
    """Time (s) after arrival that is left out: the saccade and what it leaves."""
    spread_min_deg: float = 10.0
    """Least distance (deg) between two gaze positions that tells a dependence on gaze."""
    beats_deg_s: float = 0.5
    """Slow-phase speed (deg/s) that a position must surely exceed to have a direction: a still eye
    drifts by less."""
    chance: float = 0.05
    """Probability of a dependence on gaze by chance below which there is one."""
    rebound_decay_s: float = 5.0
    """Time constant (s) with which a rebound is taken to fade (from memory, unverified: it lasts
    some 10 to 20 s)."""
    rebound_after_s: float = 8.0
    """Least time (s) after the return that tells a rebound from a lasting nystagmus."""
    rebound_sd: float = 2.5
    """Multiples of its standard error that a rebound must exceed, beside ``rebound_min_deg_s``."""
    rebound_min_deg_s: float = 1.0
    """Smallest rebound (deg/s)."""
    fixation_min_deg_s: float = 1.0
    """Velocity in the dark (deg/s) under which the effect of fixation is not reckoned."""
    scatter_max: float = 5.0
    """Largest factor by which the scatter of positions about a line widens its interval: beyond
    it there is no line."""
