"""Thresholds and priors of optokinetic nystagmus, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OptokineticSettings:
    """What is left out when the scene starts and stops, and what is believed of the store."""

    settle_s: float = 1.0
    """Time (s) left out after the scene starts or the light goes out: the direct part, which is
    pursuit, comes and goes within it (from memory, unverified)."""
    charging_s: float = 10.0
    """Centre of the prior on how the stored part charges (s) (from memory, unverified)."""
    charging_log_sd: float = 0.5
    """Its SD in natural-log units: 95 % within 4 and 27 s."""
    charging_share_sd: float = 0.3
    """SD of the prior on the stored part as a share of the scene's velocity: the store holds less
    than the direct part in man (from memory, unverified)."""
    decay_s: float = 15.0
    """Centre of the prior on the time constant of the after-nystagmus (s): that of the velocity
    storage."""
    decay_log_sd: float = 0.6
    """Its SD in natural-log units, as for a reflex: 95 % within 4.6 and 49 s."""
    nystagmus_deg_s: float = 15.0
    """SD of the prior on the spontaneous nystagmus in the dark (deg/s): an acute one goes to 30
    (common practice, no source). A prior of healthy people would call it stored."""
    before_s: float = 0.2
    """Time (s) left out before the scene starts: a piece of slow phase may reach into it."""
    same_deg_s: float = 0.3
    """SD (deg/s) by which a nystagmus that beats before the scene may be another one after it."""
    seen_deg_s: float = 2.2
    """The same where none beats before the scene: there may be none, or a target may have been
    looked at. That of healthy people (J Vestib Res, PMC9249309, read)."""
    lead_apart_sd: float = 3.0
    """Standard errors by which the nystagmus before the scene may differ from that after it, to
    be taken for the same: before the scene somebody may have looked at a target."""
    drift_deg_s: float = 0.3
    """Centre of the prior on the wandering of slow-phase velocity (SD, deg/s): a moving scene
    steadies the eye no more than darkness does."""
    seconds_min: float = 5.0
    """Shortest stretch (s) of moving scene, or of darkness after it, that is measured."""
    beside_deg_s: float = 3.0
    """Nystagmus (deg/s) in the dark after the scene beyond which the gain carries a caution: with
    vision a tenth of it or more is left, and 0.3 deg/s are a hundredth of a usual scene."""
    gain_error_rough: float = 0.05
    """Standard error of the gain beyond which it is known roughly: half the spread that healthy
    people show (about 0.1; common practice, no source)."""
    gain_error_max: float = 0.25
    """Standard error beyond which nothing of the gain is known."""
    decay_log_rough: float = 0.25
    """Standard error of the time constant's logarithm beyond which it is known roughly."""
    decay_log_max: float = 0.5
    """The same beyond which the value is mostly the prior's."""
    after_error_rough: float = 1.5
    """Standard error (deg/s) of the after-nystagmus beyond which it is known roughly: a fifth of
    what a healthy store leaves of a scene at 30 deg/s (chosen)."""
    after_error_max: float = 3.0
    """Standard error (deg/s) beyond which the darkness does not part it from a spontaneous
    nystagmus: its interval is then as wide as any healthy one is large (chosen)."""
    after_min_deg_s: float = 1.0
    """Slowest after-nystagmus (deg/s) that has a time constant: as for a spontaneous one."""
    ratio_gain_min: float = 0.2
    """Mean gain under which a difference of the directions as a share of it is unstable."""
    same_velocity: float = 0.05
    """Share by which the velocities of two scenes may differ to be compared."""
    wrong_way_gain: float = -0.1
    """Gain under which, with its interval below 0, the eye goes against the scene: a healthy eye
    does not; what is nearer to 0 may be a nystagmus of the dark (chosen)."""
    across_share: float = 0.5
    """Steady velocity across the scene's way, as a share of the scene's, from which the plane is
    in doubt: a spontaneous nystagmus in the light is slower (chosen)."""
    across_times: float = 2.0
    """How many times the velocity along the scene's way it must be, too (chosen)."""
