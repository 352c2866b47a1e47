"""Eyes that follow a target, made for the tests alone: nothing here comes from the simulator.

A saccade is the movement of least jerk with a peak velocity of 500·(1 − exp(−A/8)) deg/s; the eye
then creeps and is put back as fixating eyes do.
"""

import numpy as np

from slowphase.recording.trial import Recording, Trial

RATE_HZ = 200.0


def peak_of(size_deg):
    return 500.0 * (1.0 - np.exp(-np.abs(size_deg) / 8.0))


def saccade(time_s, onset_s, size_deg):
    """A step of least jerk: 10x³ − 15x⁴ + 6x⁵, whose velocity peaks at 1.875·A/length."""
    length_s = 1.875 * np.abs(size_deg) / peak_of(size_deg)
    x = np.clip((time_s - onset_s) / length_s, 0.0, 1.0)
    return size_deg * (10 * x**3 - 15 * x**4 + 6 * x**5)


def following(places_deg, hold_s, *, start_s=1.0, rng, latency_s=0.21, share=0.95, idle=False):
    """Times, the target and one plane of an eye that follows it, with each latency; (n,) each."""
    length_s = start_s + hold_s * len(places_deg) + 0.5
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    target, eye, at = np.zeros(time_s.size), np.zeros(time_s.size), 0.0
    latencies = []
    for number, place in enumerate(places_deg):
        jump_s = start_s + number * hold_s
        target[time_s >= jump_s] = place
        if idle or place == at:
            continue
        late = latency_s * np.exp(0.12 * rng.standard_normal())
        latencies.append(late)
        first = share * (place - at)
        eye += saccade(time_s, jump_s + late, first)
        eye += saccade(time_s, jump_s + late + 0.28, place - at - first)
        at = place
    return time_s, target, eye + fixating(time_s, rng), np.array(latencies)


def fixating(time_s, rng):
    """Drift of a tenth of a degree and a small saccade back each second or so."""
    knots_s = np.arange(0.0, time_s[-1] + 1.0, 0.7)
    places = rng.normal(0.0, 0.12, knots_s.size)
    return np.interp(time_s, knots_s, places)


def recorded(time_s, channels, *, raw_units=None):
    return Recording(time_s, RATE_HZ, channels, raw_units=raw_units or {})


def calibration_trial(recording, *, name="cal", **stimulus):
    return Trial(name, "calibration", "light", stimulus, recording=recording)


def two_planes(places, hold_s, rng, **options):
    """Target (n, 2) and eye (n, 2) for places (k, 2)."""
    planes = [following(list(plane), hold_s, rng=rng, **options) for plane in np.transpose(places)]
    time_s = planes[0][0]
    return time_s, *(np.column_stack([plane[i] for plane in planes]) for i in (1, 2))
