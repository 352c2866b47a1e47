"""Settings of the check of chair and recorder."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CheckSettings:
    """Limits beyond which chair or recorder want looking at."""

    delivered_tolerance_pct: float = 5.0
    """Difference (%) of delivered from commanded velocity, beyond which the chair wants looking
    at: common practice, no source."""
    delay_max_ms: float = 20.0
    """Delay (ms) of the eye channel beyond which phases of fast sinusoids are spoilt: 4.6 deg at
    0.64 Hz."""
    delay_error_max_ms: float = 5.0
    """Standard error (ms) of a delay beyond which it is not told."""
    delay_error_min_ms: float = 0.1
    """Least standard error (ms) of a delay: clocks and sampling know no better."""
    noise_max_deg: float = 0.2
    """Noise of eye position (SD, deg) beyond which small quick phases drown."""
    movement_max_pct: float = 2.0
    """Movement of a head-fixed eye as a share (%) of the chair's, beyond which the recorder slips
    or sees the chair."""
    lost_max_pct: float = 5.0
    """Share of lost samples (%) of an eye that never blinks, beyond which the tracker fails."""
    cycles_min: int = 3
    """Fewest whole cycles whose spread gives an interval."""
    gap_share: float = 0.2
    """Share of lost samples of one cycle beyond which the cycle is left out."""
    moving_share: float = 0.2
    """Share of the chair's top speed by which the start and the end of a sinusoid are found:
    above noise, and where its slope is still steep."""
    plateau_share: float = 0.9
    """Share of the chair's top speed above which a spin is on its plateau."""
    delivered_low_pct: float = 50.0
    """Delivered velocity (% of the commanded) under which chair, column or key are of another unit
    or of another trial: no chair is that far off (chosen)."""
    delivered_high_pct: float = 150.0
    """The same above: a unit in rpm, rad/s or positions makes 16 % or 600 % and more."""
    eye_gain_low: float = 0.8
    """Gain of an eye fixed in the room under which its calibration wants looking at (chosen)."""
    eye_gain_high: float = 1.25
    """The same above: as far on the other side."""
    in_the_room_min: float = 0.2
    """Gain under which an eye is not fixed in the room, but to the head: no calibration is off by
    a factor of five (chosen)."""
