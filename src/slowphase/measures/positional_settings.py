"""Thresholds of positional nystagmus, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PositionalSettings:
    """How a burst is followed, and from when on there is one."""

    burst_knot_s: float = 2.0
    """Distance of the curve's knots (s): a burst rises within seconds, a beat lasts half a one."""
    burst_bend_share: float = 0.5
    """Prior SD of the curve's bend from knot to knot, as a share of the roughly read peak: a burst
    may rise to its peak between two knots."""
    burst_bend_min_deg_s: float = 1.0
    """The least of that SD (deg/s)."""
    strongest_s: float = 2.0
    """Length (s) of the peak: some beats, short against a burst of 10 s (chosen)."""
    strongest_seen_s: float = 0.5
    """Least slow phase (s) in it."""
    nystagmus_sd: float = 4.0
    """Multiples of its standard error that a peak must exceed to be a nystagmus: the strongest of
    many moments is looked at."""
    nystagmus_min_deg_s: float = 2.0
    """Smallest peak (deg/s) that is a nystagmus: a still eye in the dark drifts at up to one."""
    onset_share: float = 0.1
    """Share of the peak that begins and ends a burst."""
    onset_min_deg_s: float = 1.0
    """The least speed (deg/s) that does: the drift of a still eye."""
    onset_error_s: float = 0.5
    """Error (s) of the onset beside that of the curve: a quarter of the knots' distance, by which
    the curve rounds a sudden beginning."""
    lasting_s: float = 60.0
    """Duration (s) from which a nystagmus is lasting: a canal's loose particles come to rest within
    a minute (from memory, unverified)."""
    reversal_min_deg_s: float = 2.0
    """Smallest peak (deg/s) in the position and in sitting up of which a ratio is made."""
