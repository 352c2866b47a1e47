"""Thresholds of smooth pursuit, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PursuitSettings:
    """What is left out at the start, and when a number may not be read."""

    settle_s: float = 0.6
    """Time (s) left out after the target begins to move: latency of 0.1 to 0.15 s and the rise to
    steady pursuit (common practice, no source)."""
    stop_s: float = 0.1
    """Time (s) left out before the target comes to rest, which a foreseen end makes uneven
    (chosen)."""
    moving_share: float = 0.1
    """Share of the peak velocity above which the target counts as moving."""
    least_peak_deg_s: float = 1.0
    """Slowest peak of a target (deg/s) whose pursuit can be told from drift."""
    target_fit_min: float = 0.95
    """Least share of the target's variance that one sinusoid must explain: else it is another
    motion, of which gain and phase are not defined here."""
    cycles_min: float = 1.0
    """Fewest cycles of steady pursuit for gain and phase."""
    gain_error_rough: float = 0.05
    """Standard error of a gain beyond which it is known roughly: half the spread that healthy
    people show at low frequencies (about 0.1; common practice, no source)."""
    gain_error_max: float = 0.25
    """Standard error beyond which nothing of the gain is known."""
    phase_gain_min: float = 0.1
    """Gain under which there is no phase to speak of."""
    asymmetry_gain_min: float = 0.2
    """Mean gain under which a difference of the directions as a share of it is unstable, as in
    suppression."""
    samples_per_cycle_min: float = 20.0
    """Fewest samples in a cycle: with fewer, a piece of slow phase is long for the stimulus."""
    wrong_way_deg: float = 135.0
    """Phase (deg, to either side) beyond which the eye goes against the target: who pursues lags
    by less than a quarter of a cycle where a gain is left (chosen)."""
