"""Thresholds of visually guided saccades, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SaccadeSettings:
    """Which saccade answers a jump, and what is read from it."""

    anticipation_s: float = 0.08
    """Latency (s) under which a saccade was begun before the target could be seen to jump
    (common practice, no source)."""
    usual_latency_s: float = 0.25
    """Time (s) by which jumps are put before the eye's own steps where their times are not known:
    a little more than a usual latency."""
    before_s: float = 0.2
    """Time (s) before the jump in which a saccade toward its new place is an anticipation too."""
    latency_max_s: float = 0.8
    """Latency (s) beyond which a saccade is no answer to the jump: the target was missed."""
    answer_share: float = 0.3
    """Least size of the answer as a share of the way to the target: smaller ones are fixational."""
    start_share: float = 0.5
    """Least way to the target that must be left when the answer begins, as a share of the jump:
    with less of it, the answer itself was not seen (a blink), and this is its correction."""
    jump_min_deg: float = 1.0
    """Smallest jump (deg) that asks for a saccade."""
    rest_before_s: float = 0.03
    """Time (s) before the onset over which the eye's place is read."""
    rest_after_s: float = 0.06
    """The same behind the end: shorter than the wait for a corrective saccade."""
    ringing_s: float = 0.015
    """Time (s) behind the end in which lens and lids still move."""
    peak_filter_s: float = 0.005
    """SD (s) of the differentiating Gaussian for peak velocity: its blur is taken out again, and
    is small beside the 10 ms of a saccade of 10 deg."""
    reference_deg: float = 10.0
    """Amplitude (deg) at which peak velocity is given, in the middle of what is asked for."""
    sequence_min_deg: float = 2.0
    """Smallest saccade (deg) whose peak velocity takes part in the main sequence."""
    scale_deg: float = 7.0
    """Centre of the prior on the scale c of the main sequence V·(1 − exp(−A/c)): healthy eyes have
    5 to 10 deg (from memory, unverified)."""
    scale_log_sd: float = 0.4
    """Its SD in natural-log units: 95 % within 3 and 15 deg."""
    answers_min: int = 3
    """Fewest answers for an interval: two have no spread to speak of."""
    missed_share: float = 0.3
    """Share of jumps missed or anticipated beyond which the others may not stand for the
    patient."""
    latency_rough_ms: float = 30.0
    """Standard error of the latency (ms) beyond which it is known roughly: half the range of
    healthy people (common practice, no source)."""
    sampling_min_hz: float = 90.0
    """Slowest sampling (Hz) at which a peak velocity can be had: a saccade of 10 deg lasts
    45 ms."""
    outlier_sd: float = 4.685
    """Standard deviations (of the logarithm) from the main sequence at which a saccade loses all
    weight, as in other fits."""
    outlier_spread_min: float = 0.08
    """Least relative scatter of peaks that is believed when outliers are judged: saccades of one
    size differ by about that."""
