"""Thresholds of the calibration, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CalibrationSettings:
    """When the eye is taken to be on the target, and when a calibration is refused."""

    settle_s: float = 0.6
    """Time (s) left out after each jump of the target: a usual latency of 0.2 s, the saccade, and
    the corrective one about 0.15 s behind it (common practice, no source)."""
    settle_share: float = 0.5
    """Or this share of the time for which the target stands, whichever is shorter."""
    fixation_min_s: float = 0.2
    """Shortest time (s) of slow phase that counts as a fixation of a target: the shortest wait
    between two saccades of an alert eye."""
    fixations_min: int = 4
    """Fewest fixations for a fit of gain and offset that leaves something to judge it by."""
    places_min: int = 3
    """Fewest places of the target in a plane: two make a straight line of anything."""
    outlier_sd: float = 4.685
    """Standard deviations from the line at which a fixation loses all weight: 95 % efficient for
    normal residuals (Holland, Welsch 1977)."""
    scatter_min_deg: float = 0.3
    """Least scatter of fixations (SD, deg) that is believed, about the error that eyes leave
    uncorrected (chosen): so that good fixations do not make each other outliers."""
    undershoot_deg: float = 0.15
    """Error (SD, deg) that all fixations may share along the jump that led to them: eyes tend to
    stop short, and leave small errors uncorrected (chosen). It is in the intervals; nothing is
    corrected."""
    on_target_share: float = 0.6
    """Least share of the fixations that must agree with the line: with less there are two lines."""
    followed_share: float = 0.4
    """Least spread of the places that the eye took, as a share of the target's (deg recordings),
    for the patient to have looked at all (chosen)."""
    stood_out: float = 5.0
    """How many times the spread within fixations the spread between them must be, where the unit
    is not degrees: less is an eye that did not follow."""
    explained_min: float = 0.9
    """Least share of the spread between fixations that the straight line must explain: below it
    the targets are not those that the eye went to."""
    gain_error_max: float = 0.1
    """Standard error of the gain, as a share of it, beyond which the calibration is refused:
    every velocity would be unsure by twice as much."""
    gain_error_rough: float = 0.02
    """The same for a caution: usual calibrations are good to 2 % or better."""
    gain_off: float = 0.1
    """Difference of the gain of a recording in degrees from 1 that is no error of the usual size:
    5 % for each eye (common practice, no source), doubled."""
    linearity_deg: float = 2.0
    """Largest deviation (deg) from the straight line that is ordinary (common practice, no
    source): beyond it eye movements of unlike size are recorded unlike."""
    drift_deg: float = 1.0
    """Change of the offset (deg) between two calibrations that a slipping recorder makes and a
    patient's fixation does not (chosen)."""
    drift_gain: float = 0.05
    """Change of the gain, as a share, that goes beyond usual repeats (chosen)."""
    timing_grid_s: float = 0.1
    """Grid (s) on which unknown times of the target are looked for: a third of a fixation."""
