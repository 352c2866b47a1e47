"""Irrigations that the project's simulator has no part in: another curve, another nystagmus.

The slow phase rises and falls as tⁿ·exp(−t/τ), as drugs do in the blood; quick phases are straight
lines that come at random sizes; blinks hide the eye. All invented for these tests.
"""

import numpy as np

from slowphase.recording.trial import Recording, Trial

RATE_HZ = 120.0


def response_curve(time_s, start_s, peak_deg_s, *, peak_s=55.0, order=2.5):
    """``peak_deg_s`` at ``peak_s`` after the start, 0 before it."""
    since = np.maximum(time_s - start_s, 0.0) / peak_s
    return peak_deg_s * since**order * np.exp(order * (1.0 - since))


def strongest(curve, rate_hz=RATE_HZ):
    """Mean over the strongest ten seconds, by plain sliding means."""
    means = np.convolve(curve, np.ones(int(10 * rate_hz)) / int(10 * rate_hz), mode="valid")
    return means[np.argmax(np.abs(means))]


def sawtooth(velocity_deg_s, time_s, rng):
    """Eye position: the integral of the velocity, put back by quick phases of random size."""
    step_s = time_s[1] - time_s[0]
    position, at, index = np.zeros(time_s.size), 0.0, 0
    limit = rng.uniform(3.0, 9.0)
    while index < time_s.size:
        at += velocity_deg_s[index] * step_s
        position[index] = at
        index += 1
        if abs(at) > limit:
            size = abs(at) + rng.uniform(0.0, 4.0)
            samples = max(2, round((0.012 + 0.0013 * size) / step_s))
            stop = min(index + samples, time_s.size)
            goal = at - np.sign(at) * size
            position[index:stop] = np.linspace(at, goal, samples + 1)[1 : 1 + stop - index]
            at, index, limit = goal, stop, rng.uniform(3.0, 9.0)
    return position


def irrigation(
    peak_deg_s,
    *,
    spontaneous_deg_s=0.0,
    ear="right",
    temperature_c=44.0,
    length_s=160.0,
    start_s=12.0,
    fixation=None,
    left=0.5,
    seed=0,
    noise_deg=0.08,
    peak_s=55.0,
    name=None,
    curve=None,
    **more,
):
    """A trial of one irrigation and the true slow phase without nystagmus."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    alone = response_curve(time_s, start_s, peak_deg_s, peak_s=peak_s) if curve is None else curve
    slow = alone + spontaneous_deg_s
    stimulus = {"ear": ear, "temperature_c": temperature_c, "medium": "water"}
    stimulus["irrigation_s"] = [start_s, start_s + 30.0]
    if fixation is not None:
        seen = (time_s >= fixation[0]) & (time_s < fixation[1])
        slow = np.where(seen, left * slow, slow)
        stimulus["fixation_s"] = list(fixation)
    slow = slow + wander(time_s.size, rng)
    channels = {}
    eye = sawtooth(slow, time_s, rng)
    for side in ("right", "left"):
        channels[f"eye_h_{side}"] = eye + rng.normal(0.0, noise_deg, time_s.size)
    for at in np.sort(rng.uniform(0.0, length_s, round(length_s / 6.0))):
        hidden = (time_s >= at) & (time_s < at + 0.15)
        for channel in channels.values():
            channel[hidden] = np.nan
    recording = Recording(time_s, RATE_HZ, channels)
    stimulus |= more
    known = {key: value for key, value in stimulus.items() if value is not None}
    name = name or f"{ear}-{temperature_c:g}"
    return Trial(id=name, kind="caloric", vision="dark", stimulus=known, recording=recording), alone


def wander(count, rng, *, sd=0.3, memory_s=1.5):
    """Slow wandering of the slow phase: a first-order Markov process."""
    keep = np.exp(-1.0 / (memory_s * RATE_HZ))
    steps = rng.normal(0.0, sd * np.sqrt(1 - keep**2), count)
    value, out = rng.normal(0.0, sd), np.empty(count)
    for index in range(count):
        value = keep * value + steps[index]
        out[index] = value
    return out
