"""Head impulses that are not the simulator's: made for the tests, with plain numpy.

The head turns as the smoothest movement between two places does (minimum jerk: velocity
30·A·(x² − 2x³ + x⁴)/D; Flash, Hogan 1985, from memory), the eye answers after a latency with a
constant gain, or with limit·tanh(gain·head/limit), and saccades have raised-cosine velocity of
length 21 ms + 2.2 ms/deg (from memory). The simulator's pulses are sin², its responses saturate in
another way, its saccades are skewed. Nothing here comes from ``slowphase.physiology``.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Recording, Trial

FINE_HZ = 2000.0
EVERY_S = 2.2


@dataclass(frozen=True)
class Given:
    """One impulse: start, side (+1 right or nose up), turn in deg, length, gain, saccades.

    ``saccades`` are (latency in s, size in deg; positive against the head); ``bounce`` is the share
    of the turn that the head swings back at once.
    """

    onset_s: float
    side: int
    turn_deg: float = 18.0
    lasting_s: float = 0.17
    gain: float = 0.9
    saccades: tuple[tuple[float, float], ...] = ()
    bounce: float = 0.0
    limit_deg_s: float = np.inf


def answer(head, one):
    """Slow eye speed against a head velocity."""
    if np.isinf(one.limit_deg_s):
        return one.gain * head
    return one.limit_deg_s * np.tanh(one.gain * head / one.limit_deg_s)


def true_gain(one):
    """Area of the eye's answer over that of the head."""
    time_s = one.onset_s + np.arange(0.0, one.lasting_s, 1.0 / FINE_HZ)
    head = one.side * smooth(time_s, one)
    return float(answer(head, one).sum() / head.sum())


@dataclass(frozen=True)
class Made:
    """What is recorded of them. ``extra`` are further channels on the recorder's clock."""

    given: tuple[Given, ...]
    rate_hz: float = 220.0
    latency_s: float = 0.009
    noise_deg: float = 0.04
    head_noise_deg_s: float = 0.6
    nystagmus_deg_s: float = 0.0
    wander_deg_s: float = 0.3
    seed: int = 0
    extra: dict = field(default_factory=dict)


def smooth(time_s, one):
    x = np.clip((time_s - one.onset_s) / one.lasting_s, 0.0, 1.0)
    return 30.0 * one.side * one.turn_deg * (x**2 - 2 * x**3 + x**4) / one.lasting_s


def head_velocity(time_s, given):
    total = np.zeros(time_s.size)
    for one in given:
        total += smooth(time_s, one)
        if one.bounce:
            back = replace(
                one,
                onset_s=one.onset_s + one.lasting_s,
                side=-one.side,
                turn_deg=one.bounce * one.turn_deg,
                lasting_s=0.12,
            )
            total += smooth(time_s, back)
    return total


def brought_back(time_s, one):
    """The way back, 0.8 s after the start and 1.1 s long."""
    left = one.turn_deg * (1.0 - one.bounce)
    slow = replace(one, onset_s=one.onset_s + 0.8, side=-one.side, turn_deg=left, lasting_s=1.1)
    return smooth(time_s, slow)


def saccade_velocity(time_s, onset_s, size_deg):
    lasting = 0.021 + 0.0022 * abs(size_deg)
    x = (time_s - onset_s) / lasting
    inside = (x > 0) & (x < 1)
    return np.where(inside, size_deg / lasting * (1.0 - np.cos(2 * np.pi * x)), 0.0)


def positions(made):
    """Time, head velocity and eye position on the fine clock."""
    time_s = np.arange(0.0, made.given[-1].onset_s + 2.2, 1.0 / FINE_HZ)
    head = head_velocity(time_s, made.given)
    eye = np.full(time_s.size, made.nystagmus_deg_s)
    rng = np.random.default_rng(made.seed)
    knots = np.arange(0.0, time_s[-1] + 2.0, 1.0)
    eye += np.interp(time_s, knots, made.wander_deg_s * rng.standard_normal(knots.size))
    for one in made.given:
        eye -= answer(head_velocity(time_s - made.latency_s, (one,)), one)
        moved = -true_gain(one) * one.turn_deg * (1.0 - one.bounce)
        for latency_s, size in one.saccades:
            eye += saccade_velocity(time_s, one.onset_s + latency_s, -one.side * size)
            moved -= size
        back = brought_back(time_s, one)
        head += back
        eye += back * moved / (one.turn_deg * (1.0 - one.bounce))
    return time_s, head, np.cumsum(eye) / FINE_HZ


def recording_of(made, *, role="eye_h"):
    """Both eyes, alike but for their noise."""
    fine_s, head, eye = positions(made)
    rng = np.random.default_rng([made.seed, 1])
    time_s = np.arange(0.0, fine_s[-1], 1.0 / made.rate_hz)
    seen = np.interp(time_s, fine_s, eye)
    channels = {
        f"{role}_{side}": seen + shift + made.noise_deg * rng.standard_normal(time_s.size)
        for side, shift in (("right", 0.4), ("left", -0.3))
    }
    channels |= {name: make(time_s) for name, make in made.extra.items()}
    noisy = np.interp(time_s, fine_s, head) + made.head_noise_deg_s * rng.standard_normal(
        time_s.size
    )
    return Recording(time_s, made.rate_hz, channels, noisy, "measured")


def series(count=20, *, seed=0, gains=(0.9, 0.9), spread=0.0, **keys):
    """Impulses to both sides in random order and time; ``gains`` are (right, left)."""
    rng = np.random.default_rng([seed, 2])
    sides = np.resize([1, -1], count)
    rng.shuffle(sides)
    starts = 1.0 + np.cumsum(rng.uniform(EVERY_S, 1.7 * EVERY_S, count))
    return tuple(
        Given(
            float(start),
            int(side),
            turn_deg=float(rng.uniform(14.0, 20.0)),
            lasting_s=float(rng.uniform(0.15, 0.19)),
            gain=float((gains[0] if side > 0 else gains[1]) + spread * rng.standard_normal()),
            **keys,
        )
        for start, side in zip(starts, sides, strict=True)
    )


def trial_of(recording, **stimulus):
    return Trial(id="made", kind="impulse", vision="light", stimulus=stimulus, recording=recording)


def measured(recording, *, settings=None, **stimulus):
    trial = trial_of(recording, **stimulus)
    return measure_trial(trial, EyeSettings(), settings or MeasureSettings())


def table(result):
    """Measures by (of, name)."""
    return {(measure.of, measure.name): measure for measure in result.measures}


def own(result):
    """The impulses behind a result."""
    return result.evidence.own
