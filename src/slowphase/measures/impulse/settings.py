"""Thresholds of head impulses, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ImpulseSettings:
    """What is an impulse, which are refused, and what counts as a corrective saccade."""

    found_deg_s: float = 50.0
    """Peak head speed (deg/s) from which a movement is looked at: the way back is slower."""
    rise_max_s: float = 0.15
    """Longest time (s) from the head's start to its peak: an impulse peaks within 0.1 s; slower
    movements bring the head back and are not listed."""
    lasting_max_s: float = 0.40
    """Longest time (s) from the head's start to its rest: twice that of a usual impulse."""
    edge_share: float = 0.05
    """Share of its peak under which the head counts as not yet moving: above a hand's tremor."""
    rest_share: float = 0.03
    """Share of its peak at which the head is back at rest, unless it crosses zero before."""
    noise_sd: float = 3.0
    """Or this multiple of the head channel's noise, if larger: chance rarely reaches it."""
    head_implausible_deg_s: float = 800.0
    """Median peak (deg/s) that no hand gives a head: a wrong unit or scale."""
    peak_min_deg_s: float = 100.0
    """Peak head speed (deg/s) under which an impulse is too slow: the other labyrinth then answers
    well by inhibition, and hides a loss. Chosen; usual impulses reach 150 to 250 deg/s (common
    practice, no source)."""
    acceleration_min_deg_s2: float = 1000.0
    """Peak head acceleration (deg/s²) under which it is too slow. Chosen: usual impulses reach 2000
    to 4000 deg/s² (from memory)."""
    criterion_deg_s: float = 150.0
    """Median peak (deg/s) under which a canal's impulses are marked as slow: criteria of the Bárány
    Society ask for 150 to 300 deg/s (Strupp et al. 2017, abstract read)."""
    before_s: float = 0.12
    """Time (s) before the head's start in which head and eye are looked at: rest and gaze."""
    before_gap_s: float = 0.01
    """Last part of it (s) that is left out: the start is known to some milliseconds."""
    rest_deg_s: float = 20.0
    """Head speed (deg/s, median before the start) above which an impulse did not begin at rest."""
    bounce_share: float = 0.30
    """Movement back within ``bounce_s`` of rest, as a share of the peak, from which the head
    bounced: it drives the eye the other way and hides saccades. Chosen."""
    bounce_s: float = 0.15
    """That time (s): later the head is being brought back."""
    off_plane_share: float = 0.45
    """Head speed in other planes, as a share of the peak, from which the plane is wrong: half of it
    is 27 deg off. Chosen."""
    off_plane_eye_share: float = 0.5
    """The same told by the eyes: how far the other plane's channel moves as a share of the head's
    turn, provided that it moves further than the plane's own."""
    gaze_off_deg: float = 7.0
    """Distance (deg) of the eye before an impulse from its usual place before all, from which gaze
    was off the target. Chosen: the head does not come back to the same place each time."""
    gaze_impulses_min: int = 4
    """Fewest impulses that tell the usual place."""
    blink_margin_s: float = 0.03
    """Time (s) around the head's movement in which no sample may be missing."""
    lost_short_s: float = 0.012
    """Longest loss (s) inside it that a straight line may bridge: two frames of 250 Hz."""
    residual_max: float = 0.20
    """Scatter of eye velocity about the slow response, saccades apart, as a share of the head's
    peak, from which the trace is too noisy: then saccades and gain cannot be told apart. Chosen."""
    bare_share_min: float = 0.10
    """Share of the head's turn that must be outside saccades: the slow response under them is drawn
    from the rest, and of so little it would be guessed."""
    gain_error_max: float = 0.05
    """The same told by the noise of position alone: the standard error of one gain."""
    lag_default_s: float = 0.008
    """Lag (s) of the eye behind the head where none can be read: usual latency (from memory)."""
    lag_min_s: float = -0.030
    """Smallest lag (s) looked for: clocks of head and eye may disagree by some frames."""
    lag_max_s: float = 0.045
    """Largest lag (s) looked for."""
    lag_step_s: float = 0.001
    """Steps (s) between them: finer than any effect on the gain."""
    lag_gain: float = 0.97
    """Misfit at the best lag, as a share of that at the default, under which it is believed."""
    filter_max_s: float = 0.008
    """Longest SD (s) of the differentiating filter: a longer one blunts small saccades."""
    watched_s: float = 0.50
    """Time (s) after the head's start in which corrective saccades are looked for: late ones come
    about 0.2 s after it, a second one 0.15 s later (common practice, no source)."""
    saccade_first_s: float = 0.06
    """Earliest latency (s) of a saccade that corrects: faster ones were on their way already (from
    memory: express saccades take 80 ms)."""
    saccade_peak_deg_s: float = 18.0
    """Smallest peak (deg/s) above the slow response: a saccade of a quarter of a degree has 20."""
    saccade_sd: float = 6.0
    """Or this multiple of the velocity's noise: chance reaches it less than once an hour."""
    saccade_edge_deg_s: float = 8.0
    """Least speed (deg/s) above the slow response at which a saccade's edges are looked for."""
    saccade_edge_sd: float = 2.5
    """Or this multiple of the velocity's noise."""
    saccade_edge_share: float = 0.20
    """Share of its peak at which a saccade begins and ends: what the filter spreads before the true
    edge and what the eye takes to reach this share then cancel."""
    saccade_smallest_deg: float = 0.5
    """Smallest size (deg) of a corrective saccade: fixation itself has smaller ones."""
    saccade_removed_deg: float = 0.25
    """Smallest size (deg) that is taken out of the slow response, whatever it is: a quarter of a
    degree is 1.5 % of the head's turn."""
    saccade_longest_s: float = 0.12
    """Longest duration (s): 30 deg take 90 ms; what lasts longer is a misfit of the response."""
    saccade_margin_s: float = 0.008
    """Time (s) beside a saccade that is no slow phase: the filter's tail."""
    saccade_settle_s: float = 0.006
    """Time (s) after it in which eye and lens settle, beside that margin."""
    saccade_settle_s_per_deg: float = 0.003
    """More of it (s) for each degree: what rings is a share of the saccade's size."""
    saccade_settle_max_s: float = 0.020
    """Longest such time (s): an early saccade must leave some slow phase."""
    asymmetry_sum_min: float = 0.3
    """Sum of both gains under which their ratio is not given: it would be noise over noise."""
    few_saccades: int = 3
    """Saccades of one kind under which their scatter is not given, and their latency is rough."""
    few_impulses: int = 5
    """Accepted impulses of a canal under which its numbers carry a caution. Chosen."""
    slope_impulses_min: int = 6
    """Fewest impulses that tell a dependence on head speed."""
    slope_spread_deg_s: float = 10.0
    """Least spread of their peaks (SD, deg/s): impulses of one speed tell no slope."""
    near_m: float = 0.7
    """Target distance (m) under which gain is falsely high (Mossman et al. 2015, read)."""
    rhythm_spread: float = 0.10
    """Relative spread of the times between impulses under which they come in a rhythm. Chosen:
    people tap that evenly."""
    order_share: float = 0.90
    """Share of impulses whose side follows from the one before (always the same, or always the
    other) from which the side can be guessed. Chosen."""
    order_impulses_min: int = 6
    """Fewest impulses that show a rhythm or an order."""
    wrong_way_gain: float = -0.3
    """Median gain of all impulses under which the eye goes with the head: a reversed channel."""
    gain_implausible: float = 1.4
    """Median gain of all impulses above which no reflex goes to a far target: healthy gains are
    about 1 (0.8 to 1.2, common practice, no source), and the head or the eye is off by a scale."""
    gain_implausible_near: float = 2.0
    """The same for a target that the trial says is nearer than ``near_m``, where the eye
    must turn further than the head."""
    held_share_min: float = 0.7
    """Share of the head's turn that slow phase and saccades together must make good within
    ``watched_s``, in the median impulse: who fixates a target makes good nearly all."""
    sampling_min_hz: float = 100.0
    """Sampling rate (Hz) under which early saccades cannot be told from the slow response: they
    last three samples."""
