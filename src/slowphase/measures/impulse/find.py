"""Impulses in the trace of the head's velocity: start, peak, and return to rest.

A head that is pushed starts with a velocity near a·(t − t0)² (so does the smoothest movement
between two places, Flash, Hogan 1985, from memory): t0 is where the line through the square root
of the velocity, between 5 and 30 % of the peak, meets zero. A push that starts sharply is caught
by the noise: t0 is never before the last sample in which the head is still.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from slowphase.eye.runs import runs_of
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.impulse.signals import Signals

FOOT = (0.05, 0.30)  # share of the peak between which the start is read: above noise, below bends
STILL_DEG_S = 0.5  # a head that moves less is still, however quiet its channel
LOOK_BACK_S = 0.04  # before the foot: how far the start may lie


@dataclass(frozen=True, slots=True)
class Push:
    """One movement of the head on the clock of `Signals`: times in s, peak index, +1 or -1.

    ``peak_deg_s`` is unsigned. ``stops`` is False where the head never came to rest in time.
    """

    onset_s: float
    end_s: float
    peak: int
    way: int
    peak_deg_s: float
    acceleration_deg_s2: float
    stops: bool


def find_pushes(signals: Signals, settings: ImpulseSettings) -> tuple[Push, ...]:
    """Every sharp movement of the head, in order; slow ones (the way back) are no pushes."""
    found: list[Push] = []
    for way in (1, -1):
        found += _one_way(signals, way, settings)
    return _without_bounces(sorted(found, key=lambda push: push.onset_s))


def _without_bounces(pushes: list[Push]) -> tuple[Push, ...]:
    """The pushes without those that are a weaker swing back from the one before."""
    kept: list[Push] = []
    for push in pushes:
        last = kept[-1] if kept else None
        soon = last is not None and push.onset_s < last.end_s + LOOK_BACK_S
        back = last is not None and push.way != last.way and push.peak_deg_s < last.peak_deg_s
        if not (soon and back):
            kept.append(push)
    return tuple(kept)


def _one_way(signals: Signals, way: int, settings: ImpulseSettings) -> Iterator[Push]:
    speed = way * signals.smooth_head_deg_s
    least = max(settings.found_deg_s, settings.noise_sd * signals.head_noise_deg_s)
    for start, stop in zip(*runs_of(speed > least), strict=True):
        peak = int(start + np.argmax(speed[start:stop]))
        foot = _foot(signals, speed, peak, settings)
        if foot is not None:
            yield _push(signals, speed, (foot, peak), way, settings)


def _foot(signals: Signals, speed: FloatArray, peak: int, settings: ImpulseSettings) -> int | None:
    """The last sample before the rise; None where the head rose too slowly for an impulse.

    A head that moved already counts from where it was slowest, if it was half as fast at most.
    """
    level = max(settings.noise_sd * signals.head_noise_deg_s, settings.edge_share * speed[peak])
    first = max(peak - signals.samples(settings.rise_max_s), 0)
    before = speed[first:peak]
    low = np.flatnonzero(before <= level)
    if low.size:
        return first + int(low[-1])
    if before.size and before.min() <= 0.5 * speed[peak]:
        return first + int(np.argmin(before))
    return None


def _push(
    signals: Signals, speed: FloatArray, rise: tuple[int, int], way: int, settings: ImpulseSettings
) -> Push:
    foot, peak = rise
    onset_s = _onset_s(signals, way * signals.head_deg_s, rise, settings)
    end_s, stops = _end_s(signals, speed, peak, onset_s, settings)
    steepest = np.max(np.diff(speed[foot : peak + 1]), initial=0.0) * signals.sampling_hz
    return Push(onset_s, end_s, peak, way, float(speed[peak]), float(steepest), stops)


def _onset_s(
    signals: Signals, speed: FloatArray, rise: tuple[int, int], settings: ImpulseSettings
) -> float:
    """When the head began to move (s): the larger of two readings, see the module's text."""
    foot, peak = rise
    first = max(foot - signals.samples(LOOK_BACK_S), 0)
    still = max(settings.noise_sd * signals.head_noise_deg_s, STILL_DEG_S)
    low = np.flatnonzero(speed[first : foot + 1] <= still)
    bound = signals.time_s[first + low[-1]] if low.size else signals.time_s[first]
    flank = np.arange(foot, peak + 1)
    top = speed[foot : peak + 1].max()
    inside = flank[(speed[flank] > FOOT[0] * top) & (speed[flank] < FOOT[1] * top)]
    if inside.size < 2:
        return float(max(signals.time_s[foot], bound))
    return float(max(_root_line_zero(signals.time_s[inside], speed[inside]), bound))


def _root_line_zero(time_s: FloatArray, speed: FloatArray) -> float:
    """Where the line through the square root of the speed meets zero (s)."""
    root = np.sqrt(speed)
    middle = time_s.mean()
    slope = np.sum((time_s - middle) * root) / np.sum((time_s - middle) ** 2)
    return float(middle - root.mean() / slope) if slope > 0 else float(time_s[0])


def _end_s(
    signals: Signals, speed: FloatArray, peak: int, onset_s: float, settings: ImpulseSettings
) -> tuple[float, bool]:
    """When the head is back at rest, or crosses zero (s), and whether it did in time."""
    level = max(settings.noise_sd * signals.head_noise_deg_s, settings.rest_share * speed[peak])
    last = int(np.searchsorted(signals.time_s, onset_s + settings.lasting_max_s))
    low = np.flatnonzero(speed[peak:last] <= level)
    if low.size:
        return float(signals.time_s[peak + low[0]]), True
    return float(signals.time_s[min(last, speed.size - 1)]), False
