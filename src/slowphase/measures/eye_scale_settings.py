"""Limits under which an eye moves too little to be in degrees."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class EyeScaleSettings:
    """Both must hold: little movement, and less noise than a recorder of eyes has."""

    span_min_deg: float = 1.2
    """Span of eye position (deg, 1st to 99th percentile of the plane that moves most) under which
    an eye hardly moves: in simulated trials of every kind it is 2 deg and more, an eye in rad read
    as deg spans 0.9 deg at the most unless it follows large targets."""
    noise_min_deg: float = 0.01
    """White noise of eye position (SD, deg) under which a trace is of another unit: video and
    electrodes have 0.02 to 0.5 deg (from memory, unverified), a 57th of that where rad are read as
    deg. A coil in the eye may be as quiet; then an eye that rests gets the caution, too."""
    seconds_min: float = 5.0
    """Shortest recording (s) of which this is said: an eye may rest for a moment."""
