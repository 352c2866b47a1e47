"""Thresholds and priors of the measures, with unit, default and why.

Constants of a method (the width of a smoother, the grid of a curve) stand beside their use.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeasureSettings:
    """Priors, block lengths and limits of the fits."""

    decay_s: float = 15.0
    """Centre of the prior on a reflex's decay T (s): middle of the usual 12 to 20 s."""
    decay_log_sd: float = 0.6
    """Its SD in natural-log units: 95 % within 4.6 to 49 s, so that any usual recording decides."""
    adaptation_s: float = 80.0
    """Centre of the prior on adaptation (s), as in models of the reflex."""
    adaptation_log_sd: float = 0.5
    """Its SD in natural-log units: 95 % within 30 to 210 s."""
    phase_sd_deg: float = 10.0
    """Prior SD (deg) of phase beyond what decay, adaptation and no latency explain."""
    side_phase_sd_deg: float = 4.0
    """Prior SD (deg) of a phase difference between directions beyond different decays."""
    side_decay_log_sd: float = 0.7
    """Prior SD (natural log) of the ratio between the decays of the two directions."""
    gaze_slope_sd: float = 0.15
    """Prior SD (1/s) of the gaze slope around 0: a leak of 0.15/s is a severe gaze-holding
    failure (time constant under 7 s)."""
    lapse_window_s: float = 1.5
    """Window (s) of the local strength of the response in the search for lapses."""
    lapse_depth: float = 0.15
    """Smallest fall of the response that counts as a lapse, as a share of the alert response."""
    lapse_sd: float = 4.0
    """Multiples of the local strength's SD by which a lapse must stand out."""
    lapse_min_s: float = 2.5
    """Shortest lapse (s): shorter ones cannot be told from scatter, and barely matter."""
    lapse_share_max: float = 0.5
    """Largest share of a trial that may be left out as lapses."""
    drowsy_spread: float = 0.18
    """Scatter of the local strength over the whole trial beyond which alertness is low
    throughout."""
    alert_min_deg_s: float = 5.0
    """Response (deg/s) under which unsteadiness is not taken for low alertness: it may be noise."""
    response_sd: float = 3.5
    """Multiples of its standard error that a response must exceed to exist."""
    response_min: float = 0.01
    """Smallest gain that counts as a response."""
    step_response_min: float = 0.04
    """Smallest step gain whose decay can be measured at all."""
    dark_gain_min: float = 0.2
    """Dark gain under which suppression is not interpretable (common practice, no source)."""
    asymmetry_min_deg_s: float = 5.0
    """Sum of the peak speeds (deg/s) under which asymmetry is withheld."""
    pieces_min: int = 12
    """Fewest pieces of slow phase that can carry a fit."""
    usable_low_pct: float = 40.0
    """Share of slow-phase samples (%) under which a trial is used with caution."""
    plain_smooth_s: float = 1.0
    """Window (s) of the running median from which the plain 37 % time constant is read."""
    peak_tolerance: float = 0.05
    """Largest relative difference of the peak velocities of a suppression pair."""
    frequency_tolerance: float = 0.02
    """Largest relative difference of its frequencies."""
    spontaneous_min_deg_s: float = 1.0
    """Spontaneous velocity in the dark (deg/s) under which the effect of fixation is not
    reckoned: the ratio would be of noise."""
    gaze_wander_deg: float = 25.0
    """Slow wandering of eye position (deg, between the 5th and the 95th percentile of its medians
    over `gaze_block_s`) beyond which straight ahead is not known: eyes do not dwell that far out,
    electrodes drift there."""
    gaze_block_s: float = 10.0
    """Block (s) for those medians: longer than several beats."""
    gaze_unknown_sd_deg: float = 8.0
    """Uncertainty (deg) of straight ahead where it is not known: the usual beating field."""
    phase_error_max_deg: float = 20.0
    """Standard error of phase (deg) beyond which it is poorly determined."""
    gain_error_max: float = 0.1
    """Standard error of a gain beyond which it is poorly determined: a healthy and an absent
    response could not be told apart."""
    velocity_error_max_deg_s: float = 2.5
    """Standard error (deg/s) of a bias beyond which it is poorly determined: the 95 % interval is
    then wider than any limit of spontaneous nystagmus."""
    log_error_max: float = 0.35
    """Standard error of a time constant (natural log) beyond which it is poorly determined: the
    95 % interval then spans a factor of four."""
    shape_share: float = 0.5
    """Share of a misfit beyond chance, within the first seconds after a change of velocity, from
    which the response is said to differ in shape from the model."""
    shape_within_s: float = 6.0
    """Those seconds."""
