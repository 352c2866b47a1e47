"""Thresholds and priors of the measures, with unit, default and why.

Constants of the numerics (iterations, the grid of a curve) stand beside their use.
"""

from dataclasses import dataclass, field

from slowphase.measures.battery_settings import BatterySettings


@dataclass(frozen=True, slots=True)
class MeasureSettings:
    """Priors, block lengths and limits of the fits."""

    battery: BatterySettings = field(default_factory=BatterySettings)

    # What is believed of reflexes and eyes.
    decay_s: float = 15.0
    """Centre of the prior on a reflex's decay T (s): middle of the usual 12 to 20 s."""
    decay_log_sd: float = 0.6
    """Its SD in natural-log units: 95 % within 4.6 to 49 s, so that any usual recording decides."""
    adaptation_s: float = 80.0
    """Centre of the prior on adaptation (s), as in models of the reflex."""
    adaptation_log_sd: float = 0.5
    """Its SD in natural-log units: 95 % within 30 to 210 s."""
    step_decay_widening: float = 1.5
    """Factor on ``decay_log_sd`` in a velocity step, which shows each decay by itself."""
    outlier_sd: float = 4.685
    """Standard deviations from the model at which a piece of slow phase loses all weight: 95 %
    efficient for normal residuals (Holland, Welsch 1977)."""
    outlier_weight: float = 0.05
    """Weight (0 to 1) under which a piece is shown as left out: it no longer takes part."""
    drift_deg_s: float = 0.3
    """Centre of the prior on the wandering of slow-phase velocity in the dark (SD, deg/s)."""
    drift_seeing_deg_s: float = 0.15
    """The same where the patient sees a target or a room, which steady the eye."""
    drift_log_sd: float = 0.5
    """Its SD in natural-log units: 95 % within a factor of three."""
    drift_memory_s: float = 2.0
    """Centre of the prior on how long the wandering lasts (s): a few beats."""
    drift_memory_log_sd: float = 0.8
    """Its SD in natural-log units."""
    waver: float = 0.003
    """Scale of the prior (half-Cauchy) on the relative waxing and waning of the response in the
    alert: under 1 % as a rule, more where the recording shows it."""
    waver_drowsy: float = 0.04
    """The same in a session in which alertness was seen to lapse."""
    unseen: float = 0.0
    """Relative SD that lapses add to a response too weak to show them, in the alert."""
    unseen_drowsy: float = 0.15
    """The same in a session in which alertness was seen to lapse: half of the response lost for a
    tenth of the time (chosen)."""
    waver_s: float = 5.0
    """How long such a waver lasts (s): longer ones cannot be told from a change of the gain."""
    noise_degrees_min: float = 12.0
    """Fewest degrees of freedom of an interval: what the prior of the noise is worth."""
    noise_weight: float = 0.2
    """Weight (0 to 1) above which a residual takes part in the noise wholly: half-believed
    residuals would make it look smaller than it is."""
    noise_neighbour_s: float = 0.5
    """Time (s) within which two pieces are neighbours, whose difference tells the white noise: the
    eye has not wandered far."""
    phase_sd_deg: float = 10.0
    """Prior SD (deg) of phase beyond what decay, adaptation and no latency explain."""
    side_phase_sd_deg: float = 4.0
    """Prior SD (deg) of a phase difference between directions beyond different decays."""
    side_decay_log_sd: float = 0.7
    """Prior SD (natural log) of the ratio between the decays of the two directions."""
    gaze_slope_sd: float = 0.15
    """Prior SD (1/s) of the gaze slope around 0: a leak of 0.15/s is a severe gaze-holding
    failure (time constant under 7 s)."""
    bend_sd: float = 0.04
    """Prior SD of the bend of a sinusoidal response: the share by which its peak stays below a
    straight line through its middle. Reflexes saturate by some percent; more is believed where
    the recording shows it."""

    # Lapses of alertness.

    lapse_window_s: float = 1.5
    """Window (s) of the local strength of the response in the search for lapses."""
    lapse_depth: float = 0.2
    """Smallest fall of the response that counts as a lapse, as a share of the alert response:
    less is the ordinary waxing and waning, which the interval carries."""
    lapse_rise: float = 0.1
    """Share of a step response that is missing at its beginning where it had lapsed already when
    the chair changed: a reflex begins with its strongest moment, and nothing else makes it grow."""
    lapse_early_s: float = 10.0
    """Time (s) from the change up to which a dip without a fall before it goes back to the change:
    a lapse seldom lasts longer, and a later dip is left out by itself."""
    lapse_sd: float = 4.0
    """Multiples of the wandering's SD by which a dip of a step response must stand out."""
    alert_share: float = 0.15
    """Share of what a trial tells of the response's strength that the alert level must hold: less
    may be chance or a startle."""
    lapse_response_deg_s: float = 3.0
    """Response (deg/s) under which lapses are not looked for: the wandering eye is as large."""
    lapse_min_s: float = 2.5
    """Shortest lapse (s): shorter ones cannot be told from scatter, and barely matter."""
    lapse_share_max: float = 0.5
    """Largest share of a trial that may be left out as lapses."""
    lapse_quiet_share: float = 0.4
    """Share of the strong response (its 95th percentile) under which the eye's own wandering is
    read: while the response is strong, a swing of alertness would pass for wandering."""
    lapse_quiet_pieces_min: int = 20
    """Fewest pieces in which it is read; the fit's own value stands for fewer."""
    lapse_telling_share: float = 0.15
    """Share of the strong response below which strength cannot be read."""
    lapse_pieces_min: int = 10
    """Fewest pieces in which strength, its spread or a dip is looked for: fewer are scatter."""
    lapse_strength_error_max: float = 0.25
    """Largest standard error of the local strength (a share of it) that takes part in the spread:
    beyond it the piece tells of its noise alone."""
    lapse_fall_s: float = 2.0
    """Time (s) over which a decaying response is watched for a fall that no reflex shows."""
    lapse_fall_share: float = 0.65
    """Share of its speed that such a fall goes below: a decay of 5 s leaves 0.67 after 2 s."""
    lapse_whole: float = 0.25
    """Share of a lapse's least depth up to which a response still lies on its fit: within
    ``lapse_fall_s`` of it a lapse is deep, another shape of the response is not."""
    lapse_fall_sd: float = 3.0
    """Multiples of the wandering's SD that such a fall must exceed: less may be the eye's own."""
    lapse_dip_share: float = 0.2
    """Share of a step response's peak to which it must come back from a dip: below it, later
    values are the largest of much noise."""
    level_change_cost: float = 9.0
    """What a change of the level of strength must gain (-log likelihood): chance seldom gives as
    much."""
    level_evidence_max: float = 12.0
    """The most that one block of 0.5 s may say against a level (-log likelihood): overlooked quick
    phases are no lapse."""
    drowsy_spread: float = 0.18
    """Scatter of the local strength over the whole trial beyond which alertness is low
    throughout."""
    alert_min_deg_s: float = 5.0
    """Response (deg/s) under which unsteadiness is not taken for low alertness: it may be noise."""

    # Whether there is a response, and whether it can be measured.

    response_sd: float = 3.5
    """Multiples of its standard error that a response must exceed to exist."""
    response_min: float = 0.01
    """Smallest gain that counts as a response."""
    step_response_min: float = 0.04
    """Smallest step gain whose decay can be measured at all."""
    dark_gain_min: float = 0.2
    """Dark gain under which suppression is not interpretable (common practice, no source)."""
    wrong_way_min: float = 0.05
    """Gain with the chair beyond which, with ``response_sd``, the response goes the wrong way: a
    target that is followed ahead of the chair may reverse a little."""
    one_phase_share: float = 0.7
    """Share of ``side_phase_sd_deg`` that the standard error of the phase difference must exceed
    for the directions to share one phase: the data have then added little to the prior."""
    cycle_power_min: float = 0.4
    """Power of a cycle over that of the fullest, and of a half cycle over that of the median one,
    below which its strength is not compared: too little of it is seen."""
    asymmetry_min_deg_s: float = 5.0
    """Sum of the peak speeds (deg/s) under which asymmetry is withheld."""
    pieces_min: int = 12
    """Fewest pieces of slow phase that can carry a fit."""
    usable_low_pct: float = 40.0
    """Share of slow-phase samples (%) under which a trial is used with caution."""
    plain_smooth_s: float = 1.0
    """Window (s) of the running median from which the plain 37 % time constant is read."""
    plain_peak_within_s: float = 8.0
    """Time (s) after the change of velocity within which its peak is looked for: later ones belong
    to something else."""
    plain_share: float = 0.37
    """Share of the raw peak at which it is read; its definition is named after this share."""
    peak_tolerance: float = 0.05
    """Largest relative difference of the peak velocities of a suppression pair."""
    frequency_tolerance: float = 0.02
    """Largest relative difference of its frequencies."""
    spontaneous_min_deg_s: float = 1.0
    """Spontaneous velocity in the dark (deg/s) under which the effect of fixation is not
    reckoned: the ratio would be of noise."""
    beat_block_s: float = 5.0
    """Block (s) in which beats are counted and the direction of a nystagmus is read: several
    beats, short against a trial."""
    direction_sd: float = 4.0
    """Multiples of its standard error that the velocity of such a block must exceed to have a
    direction, beside ``spontaneous_min_deg_s``: many blocks are looked at."""
    direction_pieces_min: int = 5
    """Fewest pieces of slow phase in such a block: fewer give no standard error."""
    direction_share: float = 0.1
    """Share of the blocks, two at least, that must go each way for the direction to change."""

    # The motion of the chair.

    head_samples_min: int = 10
    """Fewest samples of the head channel that can tell the motion."""
    moving_share: float = 0.15
    """Share of the peak velocity under which, in its first sample, the chair is taken to start a
    sinusoid from rest."""
    rest_share: float = 0.05
    """Share of the largest speed under which the chair counts as at rest before and after its
    sinusoid: noise of the sensor stays below it."""
    history_cycles: float = 3.0
    """Cycles by which a sinusoid that runs already is continued backward, so that the model starts
    in the steady state."""
    history_min_s: float = 60.0
    """At least this long (s): several decays of the reflex."""
    history_max_s: float = 300.0
    """At most this long (s): several adaptations."""
    turning_share: float = 0.2
    """Share of the largest speed beyond which, in the first samples of a spin, the chair turns
    already; up to it in the rest of the spin, the chair stands still."""
    turning_window_s: float = 0.2
    """Those first samples (s): enough to average, before most ramps."""
    step_slowest_deg_s: float = 2.0
    """Largest speed (deg/s) under which a chair has not spun: it may be noise of the sensor."""
    step_loud_s: float = 20.0
    """Time (s) after a change of velocity in which the response is strong."""
    step_quiet_pieces_min: int = 60
    """Fewest pieces outside it from which the eye's own wandering is read."""
    step_wander_min_deg_s: float = 0.1
    """Least wandering (SD, deg/s) that is believed there: no eye in the dark is steadier."""

    # Gaze.

    gaze_wander_deg: float = 25.0
    """Slow wandering of eye position (deg, between the 5th and the 95th percentile of its medians
    over `gaze_block_s`) beyond which straight ahead is not known: eyes do not dwell that far out,
    electrodes drift there."""
    gaze_block_s: float = 10.0
    """Block (s) for those medians: longer than several beats."""
    gaze_unknown_sd_deg: float = 8.0
    """Uncertainty (deg) of straight ahead where it is not known: the usual beating field."""

    # Errors beyond which a value is poorly determined.

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
    rough_gain: float = 0.015
    """Standard error of a gain of a sinusoid, as a share of it, beyond which it is known roughly:
    the 95 % interval is then wider than 3 % to either side."""
    rough_side: float = 0.025
    """The same of a gain by direction (5 %)."""
    rough_step: float = 0.03
    """The same of the gain of a step (6 %)."""
    rough_gain_least: float = 0.006
    """Standard error of any gain that is not rough, however small the gain."""
    rough_phase_deg: float = 1.0
    """The same of phase (2 deg)."""
    rough_velocity_deg_s: float = 0.75
    """The same of a bias or a spontaneous velocity (1.5 deg/s)."""
    rough_asymmetry: float = 2.5
    """The same of an asymmetry (5 points)."""
    rough_log: float = 0.06
    """The same of a time constant, of its natural logarithm (12 %)."""
    shape_chance: float = 6.0
    """Local mean square of a step response's misfit over its standard error that chance alone
    seldom reaches."""
    shape_share: float = 0.5
    """Share of a misfit beyond chance, within the first seconds after a change of velocity, from
    which the response is said to differ in shape from the model."""
    shape_within_s: float = 6.0
    """Those seconds."""

    # Quick phases.

    visible_quick_phase_deg: float = 2.0
    """Smallest quick phase (deg) that must stand out of the noise: half of all quick phases in the
    dark are smaller than some 4 deg, and one that is overlooked bends the slow phase."""
    hopeless_quick_phase_deg: float = 8.0
    """Where not even quick phases of this size (deg) stand out, what is left is not slow phase."""
    sequence_peak_deg_s: float = 520.0
    """Main sequence of an alert eye, peak velocity V·(1 - exp(-A/c)): V (deg/s). Some 5 to 20 %
    below labelled saccades made in the light (Zemblys and others 2018), since quick phases in the
    dark are slower (from memory, unverified)."""
    sequence_scale_deg: float = 6.0
    """Its c (deg)."""
    sequence_size_min_deg: float = 2.0
    """Smallest quick phase (deg) whose peak velocity is compared with it; and at least twice the
    smallest that stands out of the noise."""
    sequence_size_max_deg: float = 20.0
    """Largest such quick phase (deg): larger ones are mostly blinks or two in one."""
    sequence_count_min: int = 8
    """Fewest such quick phases whose median is given."""
    slow_sequence: float = 0.75
    """Median speed of quick phases, as a share of the main sequence, below which they are slow:
    healthy people scatter by some 10 % around their mean (from memory, unverified)."""
    slow_sequence_surely: float = 0.8
    """The median and two of its standard errors must stay below this share."""

    # The two eyes beside each other.

    eye_block_s: float = 5.0
    """Block (s) in which the two eyes are compared: several quick phases, short against a trial."""
    eye_moves_deg: float = 1.0
    """Smallest SD (deg) of eye position in a block whose comparison tells the eyes' gains."""
    eye_seen_share: float = 0.3
    """Share of a block in which both eyes must be seen to be compared."""
    eye_inner_pct: float = 95.0
    """Share (%) of a block's distances between the eyes that take part: the largest are blinks of
    one eye."""
    eye_independent_s: float = 0.1
    """Time (s) after which those distances are taken as independent: what disturbs one eye (a
    lid, a fixation) lasts about that long. Chosen."""
    eye_gain_error_max: float = 0.03
    """Largest standard error of the eyes' difference in gain in such a block."""
    eye_gain_difference: float = 0.1
    """Difference in gain between the eyes (share of their mean) that is no calibration error of
    the usual size: 5 % for each eye (common practice, no source)."""
    eye_disagree_share: float = 0.1
    """Share of the blocks, two at least, in which they must differ."""
    eye_step_deg: float = 3.0
    """Change of the eyes' distance (deg) from one block to the next that is no vergence in the
    dark, which is slow (common practice, no source)."""

    # A response that changes, eyes that rove.

    strength_change: float = 0.1
    """Smallest lasting jump of the response's strength, as a share of it: less changes gain by
    under 5 %."""
    strength_change_sd: float = 10.0
    """Multiples of its own standard error by which such a jump must stand out of the scatter of
    half cycles: the best of many places is looked at, and alertness that comes and goes must not
    pass for a jump."""
    strength_parts_min: int = 3
    """Fewest half cycles on either side of it."""
    roving_low_hz: float = 0.15
    """Slow pendular movements of the drowsy: from this frequency (common practice, no source)."""
    roving_high_hz: float = 0.5
    """Up to this one."""
    roving_deg_s: float = 2.0
    """Their root mean square (deg/s) from which eyes are said to rove: the wander of alert eyes
    stays below 1 deg/s in this band."""
    roving_times: float = 3.0
    """And how many times their power, per Hz, must exceed that between ``roving_white_low_hz`` and
    ``roving_white_high_hz``, which overlooked quick phases fill as well."""
    roving_white_low_hz: float = 0.6
    """That band: from this frequency (Hz), above roving eyes."""
    roving_white_high_hz: float = 1.2
    """Up to this one: pieces of slow phase tell of no faster movement everywhere."""
    roving_periods_min: float = 2.0
    """Fewest periods of a band's lowest frequency that a trial must hold to tell its power."""
    roving_clip_sd: float = 6.0
    """Robust SD of the residual at which it is clipped: what is beyond is an overlooked quick
    phase."""
    roving_piece_max_s: float = 0.5
    """Longest time (s) that one piece stands for: behind a gap nothing is known."""

    # What the trials of a session say together.

    dark_gain_max: float = 1.05
    """Gain in the dark beyond which no reflex is known: with an imagined target it comes near to 1
    (Barr, Schultheis, Robinson 1976, from memory, unverified)."""
    dark_gain_lively: float = 0.9
    """Gain in the dark that is rare without an imagined target (common practice, no source): beyond
    it at all frequencies, quick phases that are too fast as well tell of the calibration."""
    fast_sequence: float = 1.25
    """Speed of quick phases, as a share of the main sequence, beyond which they are too fast for
    their size: a calibration that is too large makes large ones out of slower, smaller ones."""
    dark_gain_from_hz: float = 0.04
    """Lowest frequency (Hz) at which the gain no longer depends on storage."""
    coherence_trials_min: int = 2
    """Fewest trials for a finding of the session."""
    latency_s: float = 0.008
    """Latency of the reflex (s): 5 to 15 ms (from memory, unverified)."""
    latency_sd_s: float = 0.01
    """Prior SD (s) of the latency in a velocity step: it also takes up a small lag between the
    clocks of chair and eye."""
    clock_lag_s: float = 0.015
    """Departure from it (s) beyond which, with its interval, chair and eye are said not to share
    one clock: 3.5 deg at 0.64 Hz."""
    clock_lag_from_hz: float = 0.1
    """Lowest frequency (Hz) of the trials that it concerns and that must include two."""
    clock_phase_error_deg: float = 0.5
    """Error of the model's phase (deg) at any one frequency, beside that of the measurement."""
    clock_lead_error: float = 0.05
    """Its further error as a share of the lead: two labyrinths with two decays, adaptation."""
    clock_misfit_deg: float = 2.0
    """Largest misfit (deg) that a lag may leave at those frequencies: phases that it does not
    straighten are no matter of the clock."""
    leak_below_hz: float = 0.03
    """Highest frequency (Hz) at which vision is looked for: there the reflex leads clearly."""
    leak_gain_min: float = 0.2
    """Smallest gain (its interval included) whose phase tells of vision."""
    leak_decay_max_s: float = 60.0
    """Longest decay (s) that is believed of storage, where no step says how long it is."""
    leak_decay_min_s: float = 30.0
    """The least that is believed where steps say so: the patient may have been less alert then."""
    leak_adaptation_s: float = 200.0
    """Slowest adaptation (s) that is believed: it leaves the least lead."""
    leak_margin_deg: float = 2.0
    """By how much (deg) the phase must stay below the least lead, its interval included."""
    drowsy_trials_share: float = 0.5
    """Share of dark trials with slow quick phases from which the session is said to be drowsy."""
    drowsy_decay_s: float = 10.0
    """Decay (s) below which time constants are short: with slow quick phases a second sign of low
    alertness."""
