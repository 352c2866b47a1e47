"""Priors and limits of the whole-session fit, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FitSettings:
    """What is believed before all trials are fitted together, and what they must show."""

    decay_s: float = 15.0
    """Centre of the prior on the decay T (s): middle of the usual 12 to 20 s."""
    decay_log_sd: float = 1.0
    """Its SD in natural-log units: 95 % within 2 to 110 s, so that the trials decide."""
    side_decay_log_sd: float = 0.7
    """Prior SD (natural log) of the ratio of the decays of both directions: as in one trial."""
    adaptation_s: float = 80.0
    """Centre of the prior on adaptation (s), as in models of the reflex."""
    adaptation_log_sd: float = 0.8
    """Its SD in natural-log units: 95 % within 17 to 390 s. Wider than in one trial: several trials
    together can tell it."""
    latency_s: float = 0.008
    """Centre of the prior on the latency (s): from memory, unverified."""
    latency_sd_s: float = 0.02
    """Its SD (s): it also takes up a lag between the clocks of chair and camera."""
    gaze_slope_sd: float = 0.15
    """Prior SD (1/s) of the gaze slope: a leak with 7 s is a severe gaze-holding failure."""
    change_sd_deg_s: float = 10.0
    """Prior SD (deg/s) of how much the nystagmus changes in the course of a session: an acute one
    fades by less in an hour."""
    bend_sd: float = 0.04
    """Prior SD of how far a half wave stays below a straight line at the chair's peak speed."""
    shift_sd_deg: float = 10.0
    """Prior SD (deg) of the phase that a head-fixed target adds to the response it leaves."""
    gaze_unknown_deg_s: float = 0.3
    """SD (deg/s) of the nystagmus straight ahead in a trial whose eye position is not known: 8 deg
    of gaze times a leak of 0.035 per s."""
    levels: tuple[float, ...] = (0.0, 0.01, 0.02, 0.04, 0.08, 0.16)
    """Relative SD of the response's strength between trials that are tried: alertness differs."""
    shifts_deg_s: tuple[float, ...] = (0.0, 0.15, 0.3, 0.6, 1.2, 2.4)
    """SD (deg/s) of the nystagmus between trials, beside its steady change, that are tried."""
    variation_gain: float = 2.71
    """Gain in -2 log likelihood that a variation between trials must bring to be believed: 95 %
    for a variance, which cannot be below 0 (Self, Liang 1987)."""
    log_error_max: float = 0.5
    """Standard error (natural log) beyond which a time constant is not told by these trials."""
    gain_error_max: float = 0.25
    """Standard error beyond which a gain is not told by these trials."""
    response_sd: float = 3.5
    """Standard errors that a gain must exceed for its time constant to mean anything."""
    phase_error_max_deg: float = 15.0
    """Standard error (deg) beyond which a phase says nothing of agreement."""
    agreement_scale: float = 1.1
    """Factor on the statistic of agreement: trials overstate their own noise, because drift and
    wavering are believed before they are seen. Without it 2.6 % of 2,000 simulated sessions of one
    reflex were rejected at 0.05; with it about 5 % of 300 others (4.3 %)."""
    p_disagree: float = 0.05
    """Probability under which the trials are said not to agree on one reflex."""
    disagree_phase_deg: float = 3.0
    """Deviation of a phase (deg) that matters to a reading: smaller ones may be sure and still say
    no more than that the model is simple."""
    disagree_decay_pct: float = 15.0
    """The same for the decay of a response to a step (%)."""
    people_gain: float = 0.2
    """How much the gain of both sides differs between people of one explanation (SD, share). Chosen
    between two published sets of healthy adults: 0.1 (0.5 to 0.77 taken as ± 2 SD, Möller et al.
    about 1990, read) and 0.32 (0.50 ± 0.16, Su et al. 2000, read)."""
    people_decay: float = 0.16
    """The same for the decay (SD, natural log): 19.6 ± 3.2 s (Hain, Buettner 1990, read)."""
    people_side: float = 0.03
    """How much both sides of one person differ by chance in gain (SD, share; the decay by 1.4
    times as much). Chosen: half of a usual limit of asymmetry at the session's precision."""
    people_nystagmus_deg_s: float = 2.2
    """How much nystagmus the healthy have (SD, deg/s): 1.1 ± 2.2 in those who have one (n = 101,
    J Vestib Res, PMC9249309, read)."""
    people_nystagmus: float = 0.4
    """How far the nystagmus of a loss may be from the model's (SD, share). Chosen."""
    form_gain: float = 0.15
    """How far the gains of a whole loss may be from the model's (SD, share, each side): the form of
    the model was chosen."""
    form_decay: float = 0.5
    """The same for the decay (SD, natural log; half of it between the sides)."""
    needed: float = 3.84
    """How much better (chi-squared) an explanation must fit than a simpler one that it contains:
    95 % for one parameter."""
    as_well: float = 4.0
    """Difference of the criterion (statistic plus two for each parameter) up to which another
    explanation is said to fit as well as the best: up to 2 is no difference, above 4 some
    (Burnham, Anderson 2002, from memory)."""
