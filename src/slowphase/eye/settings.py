"""Thresholds of the eye layer, with unit, default and why.

Constants of the numerics stand beside their use.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class EyeSettings:
    """Thresholds of gap handling, quick-phase detection and slow-phase pieces.

    None of them is a fixed velocity: those that bear on velocity count multiples of the
    recording's own noise.
    """

    working_hz: float = 250.0
    """Faster recordings are averaged to about this rate (Hz): the shortest quick phases last
    15 ms, and slow phase has nothing above a few Hz."""
    spike_sd: float = 8.0
    """Multiples of the noise by which a single sample off its neighbours is no eye."""
    spike_min_deg: float = 0.5
    """Smallest such spike (deg): what is less moves no slope."""
    weight_block_s: float = 1.0
    """Length (s) over which the noise of one eye against the other is read: a lid covers a pupil
    for about that long."""
    shift_block_s: float = 5.0
    """Block (s) over which the distance of an eye from the mean of both is taken as constant: it
    changes slowly, and quick phases of unlike size must average out."""
    quietest_deg: float = 0.01
    """Least noise of position (SD, deg) that is believed of an eye: coarse steps of a recorder may
    show none."""
    samples_min: int = 10
    """Fewest samples in which an eye is seen for a plane to be tracked."""
    gap_steps: float = 2.5
    """Sample intervals beyond which rows are missing in time: one dropped row is no gap."""
    filter_noise_deg_s: float = 8.0
    """Velocity noise (deg/s) that the detection filter aims at: a 1 deg quick phase has a peak
    of about 60 deg/s, so that it stands 7 SD above it. Wider filters blunt small quick phases."""
    filter_min_s: float = 0.004
    """Shortest SD of the detection filter: shorter ones see only camera noise."""
    filter_max_s: float = 0.025
    """Longest SD: a longer one is wider than the quick phase that it is to find."""
    onset_sd: float = 6.0
    """Multiples of the residual velocity's SD that make a quick phase: chance crossings are
    rarer than one an hour even where the noise has heavy tails."""
    smallest_deg: float = 0.2
    """Shortest way (deg, there and back) of a quick phase: what travels less is a tremor of the
    eye or of the tracker, and moves no slow phase by more than its noise."""
    edge_sd: float = 2.5
    """Multiples of that SD where a quick phase begins and ends."""
    edge_share: float = 0.06
    """Or this share of its own peak velocity, whichever is larger: the foot of a large quick
    phase drowns in its filter's tail, not in noise."""
    baseline_s: float = 0.40
    """First window (s) of the slow baseline, a running median: quick phases fill less than half
    of it up to 6 per second."""
    smooth_s: float = 0.08
    """SD (s) of the local line that refines the baseline once quick phases are masked: follows
    0.64 Hz, averages several video frames."""
    passes: int = 2
    """Rounds of baseline and masking; a third changes nothing that could be measured."""
    scale_block_s: float = 4.0
    """Length (s) over which the noise is taken as constant: shorter than most changes of lid or
    light, long enough for a stable median."""
    settle_s: float = 0.016
    """Time (s) left out after each quick phase for the eye and lens to settle."""
    settle_s_per_deg: float = 0.003
    """More of it (s) for each degree of the quick phase: what rings is a share of its size."""
    settle_max_s: float = 0.04
    """Longest such time (s): fast nystagmus would leave no slow phase."""
    lead_s: float = 0.006
    """Time (s) left out before each quick phase: the onset is found a little late."""
    merge_s: float = 0.012
    """Quick phases closer than this (s) are one."""
    settling_s: float = 0.040
    """A movement back that starts within this time (s) and is less than ``settling_share`` as large
    is the eye settling, not a quick phase of its own."""
    settling_share: float = 0.5
    """That share of the quick phase before: what rings is a part of it."""
    blink_before_s: float = 0.060
    """Time (s) left out before lost samples that last longer than `glitch_s`: the falling lid
    drags the pupil's centre."""
    blink_after_s: float = 0.100
    """Time (s) left out after them: the rising lid is slower."""
    glitch_s: float = 0.030
    """Losses up to this long (s) are dropped frames, not blinks, and cost no margin."""
    blink_pair_s: float = 0.40
    """Two opposite vertical jumps within this time (s) are a blink without lost samples."""
    blink_size_deg: float = 2.0
    """Smallest vertical jump (deg) of such a blink: smaller ones do not disturb the horizontal."""
    blink_pair_share: float = 0.4
    """Share of the larger of its two jumps that the smaller one must exceed: a lid that goes down
    comes back."""
    piece_noise_deg_s: float = 1.0
    """Standard error (deg/s) aimed at for the velocity of one piece of slow phase."""
    piece_min_s: float = 0.10
    """Shortest target length (s) of a piece: shorter ones only add noise."""
    piece_max_s: float = 0.40
    """Longest (s): longer ones hide an overlooked quick phase."""
    piece_cycles: float = 0.15
    """Longest piece as a share of the stimulus's cycle: the quadrature over it is then exact to
    1e-5."""
    run_min_s: float = 0.045
    """Shortest slow phase (s) between two quick phases that is used."""
    jump_share_max: float = 0.5
    """A plane in which quick phases would cover more than this share of the samples is too poor
    to say where they are for the other plane, and is not asked. For its own it always is: in the
    fastest nystagmus they do."""
