"""Thresholds of square-wave jerks and of waveforms, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FixatingSettings:
    """What counts as a square-wave jerk, and when a waveform is not that of a jerk nystagmus."""

    jerk_min_deg: float = 0.5
    """Smallest square-wave jerk (deg): smaller pairs are those of every fixation (from memory,
    unverified)."""
    jerk_max_deg: float = 5.0
    """Largest one (deg): larger ones are another sign (from memory, unverified)."""
    apart_min_s: float = 0.1
    """Shortest time (s) from the saccade away to that back: usually 0.2 s (from memory)."""
    apart_max_s: float = 0.45
    """Longest such time (s)."""
    alike: float = 0.6
    """Least size of the smaller of both saccades as a share of the larger one: a jerk comes back to
    where it left."""
    beat_min_s: float = 0.12
    """Shortest slow phase (s) whose two halves are compared."""
    beat_speed_deg_s: float = 3.0
    """Slowest mean speed (deg/s) of a slow phase whose shape can be told from noise."""
    beats_min: int = 10
    """Fewest such slow phases that make a waveform."""
    beats_share: float = 0.4
    """Least share of the slow phases that must be as fast and long: a few are chance."""
    rising: float = 0.25
    """Median of (late − early)/(late + early) speed beyond which slow phases gain speed: late
    speed is then 1.7 times the early one; a straight slow phase has 0 (chosen)."""
    rising_share: float = 0.8
    """Least share of the slow phases that must gain speed."""
    pendular_low_hz: float = 1.2
    """Slowest swing (Hz) looked for; pendular nystagmus has 2 to 8 Hz (from memory, unverified)."""
    pendular_high_hz: float = 12.0
    """Fastest swing (Hz) looked for."""
    pendular_width_hz: float = 0.7
    """Half width (Hz) of the band about its peak."""
    pendular_share: float = 0.6
    """Least share of the power between both limits that lies in that band."""
    pendular_deg: float = 0.3
    """Smallest amplitude (deg): less is tremor and noise."""
    pendular_kurtosis: float = 2.4
    """Largest kurtosis of velocity: a sinusoid has 1.5, one that waxes and wanes up to 2.2, noise
    3, a saw-tooth with quick phases far more."""
