"""Whether one impulse is accepted, and why not: codes of ``foundation/reasons.toml``."""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.runs import runs_of
from slowphase.foundation.arrays import BoolArray
from slowphase.measures.impulse.find import Push
from slowphase.measures.impulse.gain import area
from slowphase.measures.impulse.saccades import Response
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.impulse.signals import Signals

LEAST_SAMPLES = 5  # of slow response during an impulse: fewer tell no scatter


@dataclass(frozen=True, slots=True)
class Before:
    """What head and eye did just before an impulse: medians over ``before_s``; NaN if unseen."""

    head_deg_s: float
    eye_deg_s: float
    gaze_deg: float


def before(signals: Signals, push: Push, settings: ImpulseSettings) -> Before:
    """Head and eye velocity and gaze before the head's start."""
    last_s = push.onset_s - settings.before_gap_s
    part = slice(*np.searchsorted(signals.time_s, [last_s - settings.before_s, last_s]))
    seen = ~signals.hidden[part]
    if not seen.any():
        return Before(float("nan"), float("nan"), float("nan"))
    return Before(
        float(np.median(signals.smooth_head_deg_s[part])),
        float(np.median(signals.eye_deg_s[part][seen])),
        float(np.nanmedian(signals.position_deg[part][seen])),
    )


def head_reasons(
    signals: Signals, push: Push, rest: Before, settings: ImpulseSettings
) -> tuple[str, ...]:
    """What is wrong with the head's movement."""
    why = []
    slow = push.acceleration_deg_s2 < settings.acceleration_min_deg_s2
    if slow or push.peak_deg_s < settings.peak_min_deg_s:
        why.append("impulse_too_slow")
    if abs(rest.head_deg_s) > settings.rest_deg_s:
        why.append("impulse_not_from_rest")
    if not push.stops:
        why.append("impulse_not_stopped")
    if push.stops and bounce_share(signals, push, settings) > settings.bounce_share:
        why.append("impulse_bounced")
    return tuple(why)


def bounce_share(signals: Signals, push: Push, settings: ImpulseSettings) -> float:
    """Fastest movement back soon after the head's rest, as a share of the peak."""
    times = [push.end_s, push.end_s + settings.bounce_s]
    part = slice(*np.searchsorted(signals.time_s, times))
    back = -push.way * signals.smooth_head_deg_s[part]
    return float(np.max(back, initial=0.0)) / push.peak_deg_s


def seen_reasons(signals: Signals, push: Push, settings: ImpulseSettings) -> tuple[str, ...]:
    """Whether head and eye were seen throughout the head's movement, and before it."""
    margin = settings.blink_margin_s
    first_s = push.onset_s - margin - settings.before_s
    if first_s < signals.time_s[0] or push.end_s + margin > signals.time_s[-1]:
        return ("impulse_cut",)
    times = [push.onset_s - margin, push.end_s + margin]
    part = slice(*np.searchsorted(signals.time_s, times))
    short = signals.samples(settings.lost_short_s)
    if longest_run(signals.head_lost[part]) > short:
        return ("impulse_cut",)
    return ("impulse_blink",) if longest_run(signals.hidden[part]) > short else ()


def longest_run(mask: BoolArray) -> int:
    """Samples in the longest run of True."""
    start, stop = runs_of(mask)
    return int(np.max(stop - start, initial=0))


def plane_reasons(
    signals: Signals, push: Push, response: Response, settings: ImpulseSettings
) -> tuple[str, ...]:
    """Whether the head, or the eyes, say that the head moved in another plane."""
    part = slice(*np.searchsorted(signals.time_s, [push.onset_s, push.end_s]))
    if signals.off_plane_deg_s is not None:
        off = float(np.max(signals.off_plane_deg_s[part], initial=0.0))
        if off > settings.off_plane_share * push.peak_deg_s:
            return ("impulse_off_plane",)
    if signals.other_deg is None or part.stop - part.start < 2:
        return ()
    beside = abs(float(signals.other_deg[part][-1] - signals.other_deg[part][0]))
    turned = area(response.head, response.time_s, 0.0, response.stop_s)
    own = abs(area(response.slow, response.time_s, 0.0, response.stop_s))
    wrong = beside > max(settings.off_plane_eye_share * turned, own)
    return ("impulse_off_plane",) if wrong else ()


def trace_reasons(
    signals: Signals, push: Push, response: Response, settings: ImpulseSettings
) -> tuple[str, ...]:
    """Whether saccades or noise hide the slow response."""
    turned = area(response.head, response.time_s, 0.0, response.stop_s)
    bare = np.where(response.fast, 0.0, response.head)
    if area(bare, response.time_s, 0.0, response.stop_s) < settings.bare_share_min * turned:
        return ("impulse_covered",)
    error = 2.0**0.5 * signals.noise_deg / max(turned, 1e-9)
    noisy = residual(response) > settings.residual_max * push.peak_deg_s
    return ("impulse_noisy",) if noisy or error > settings.gain_error_max else ()


def residual(response: Response) -> float:
    """Scatter of eye velocity about the fitted slow response (deg/s, root mean square).

    Only during the head's movement and outside saccades; infinite where too little is left.
    """
    use = (response.time_s > 0) & (response.time_s < response.stop_s)
    use &= ~(response.fast | response.hidden)
    if use.sum() < LEAST_SAMPLES:
        return float("inf")
    return float(np.sqrt(np.mean((response.eye - response.fit)[use] ** 2)))
