"""Responses of reflexes that are not the project's own model, and eyes that beat.

States are integrated with Heun's rule from their differential equations; nothing here comes from
``slowphase.physiology``. With h the chair's velocity:

    q' = (h - q)/Tc            cupula: c = h - q
    x' = -x/Ts + w·(1/Tc - 1/Ts)·c     store, its leak that of the side which it drives
    a' = (c + x - a)/Ta        adaptation: z = c + x - a

The eye gets -g(z), late by 8 ms, with g the gain of the side that z excites, a dead zone and a
soft limit, and a bias that may fade.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from slowphase.recording.trial import Recording

STEP_S = 0.004
LATE_S = 0.008
RAMP_S = 0.7
SIZE_DEG_S = 100.0
PEAK_DEG_S = 60.0
LEAD_S = 3.0


@dataclass(frozen=True)
class Reflex:
    """Pairs are (right, left): what holds when that side is excited.

    ``stores_apart`` gives each side a whole path of its own, of which the inhibited half is lost;
    else both share one store that leaks unevenly.
    """

    gain: tuple[float, float] = (0.6, 0.6)
    cupula_s: float = 5.0
    store_s: tuple[float, float] = (15.0, 15.0)
    store_weight: float = 1.0
    adaptation_s: float = 80.0
    limit_deg_s: float = np.inf
    dead_zone_deg_s: float = 0.0
    bias_deg_s: float = 1.0
    fading_deg_s: float = 0.0
    fading_s: float = 120.0
    stores_apart: bool = False

    def bias(self, time_s):
        return self.bias_deg_s + self.fading_deg_s * np.exp(-time_s / self.fading_s)

    def _slopes(self, head, state):
        q, x, a = state
        c = head - q
        store_s = self.store_s[0] if x >= 0 else self.store_s[1]
        charge = self.store_weight * (1.0 / self.cupula_s - 1.0 / store_s)
        return c / self.cupula_s, charge * c - x / store_s, (c + x - a) / self.adaptation_s

    def drive(self, head, step_s=STEP_S):
        """z at every sample of the chair's velocity, from rest, shape (n,)."""
        state, out = (0.0, 0.0, 0.0), [0.0]
        samples = head.tolist()
        for now, then in pairwise(samples):
            first = self._slopes(now, state)
            ahead = [s + step_s * d for s, d in zip(state, first, strict=True)]
            second = self._slopes(then, ahead)
            state = tuple(
                s + step_s * (d + e) / 2 for s, d, e in zip(state, first, second, strict=True)
            )
            q, x, a = state
            out.append(then - q + x - a)
        return np.array(out)

    def modulation(self, head, step_s=STEP_S):
        """Slow-phase velocity that the chair alone causes, shape (n,)."""
        moved = np.zeros(head.size)
        for way, gain, z in zip((1.0, -1.0), self.gain, self._paths(head, step_s), strict=True):
            excited = np.maximum(way * z - self.dead_zone_deg_s, 0.0)
            if np.isfinite(self.limit_deg_s):
                excited = self.limit_deg_s * np.tanh(excited / self.limit_deg_s)
            moved -= way * gain * excited
        time = step_s * np.arange(head.size)
        return np.interp(time - LATE_S, time, moved, left=0.0)

    def _paths(self, head, step_s):
        if not self.stores_apart:
            return (self.drive(head, step_s),) * 2
        return tuple(replace(self, store_s=(s, s)).drive(head, step_s) for s in self.store_s)


def sinusoid(frequency_hz, cycles):
    """Times and chair velocity of a sinusoid from rest."""
    time = np.arange(0.0, LEAD_S + cycles / frequency_hz + 2.0, STEP_S)
    moving = np.clip(time - LEAD_S, 0.0, cycles / frequency_hz)
    return time, PEAK_DEG_S * np.sin(2 * np.pi * frequency_hz * moving)


def spin(plateau_s=60.0):
    """Times and chair velocity of a spin to the right and the rest after it."""
    stop = LEAD_S + RAMP_S + plateau_s
    time = np.arange(0.0, stop + RAMP_S + plateau_s, STEP_S)
    corners = (LEAD_S, LEAD_S + RAMP_S, stop, stop + RAMP_S)
    return time, np.interp(time, corners, (0.0, SIZE_DEG_S, SIZE_DEG_S, 0.0))


def steady_cycle(reflex, frequency_hz, each=400):
    """The modulation in the last of many cycles, and the chair's velocity, shape (each,)."""
    slowest = max(reflex.adaptation_s, *reflex.store_s)
    cycles = int(np.ceil(6.0 * slowest * frequency_hz)) + 2
    step = 1.0 / (frequency_hz * each)
    head = PEAK_DEG_S * np.sin(2 * np.pi * np.arange(cycles * each + 1) / each)
    moved = reflex.modulation(head, step)
    return moved[-each - 1 : -1], head[-each - 1 : -1]


def sinusoid_truth(reflex, frequency_hz, time_s):
    """What the definitions give when applied to the endless, noise-free response."""
    moved, head = steady_cycle(reflex, frequency_hz)
    turn = np.exp(-2j * np.pi * np.arange(head.size) / head.size)
    ratio = -np.sum(moved * turn) / np.sum(head * turn)
    return {
        "gain": abs(ratio),
        "phase": float(np.degrees(np.angle(ratio))),
        "gain_right": -float(moved.min()) / PEAK_DEG_S,
        "gain_left": float(moved.max()) / PEAK_DEG_S,
        "bias": float(np.mean(reflex.bias(time_s))),
    }


def step_truth(reflex, time_s):
    """Each response as if its own change of velocity had come alone, in a patient at rest."""
    since = np.arange(0.0, 120.0, STEP_S)
    truth = {"bias": float(np.mean(reflex.bias(time_s)))}
    for of, way in (("per", 1.0), ("post", -1.0)):
        head = way * SIZE_DEG_S * np.clip(since / RAMP_S, 0.0, 1.0)
        speed = -way * reflex.modulation(head)
        top = int(np.argmax(speed))
        falls = top + int(np.argmax(speed[top:] < speed[top] / np.e))
        truth[f"{of}/gain"] = float(speed[top]) / SIZE_DEG_S
        truth[f"{of}/time_constant"] = float(since[falls] - since[top])
    return truth


def beating_eye(wanted_deg_s, rng, leak_per_s=0.02):
    """Eye position that follows the wanted velocity and beats back, shape (n,).

    A beat comes after a random time that is shorter the faster the slow phase, or when the eye is
    far out; it goes to a random place on the side that the slow phase comes from, as a half sine
    of velocity of 20 ms and 2.5 ms a degree.
    """
    position, out = 0.0, np.empty(wanted_deg_s.size)
    quick, wait = [], rng.gamma(8.0, 0.1)
    halfway = 0.5 * (wanted_deg_s + np.append(wanted_deg_s[1:], wanted_deg_s[-1]))
    for index, slow in enumerate(halfway.tolist()):
        out[index] = position
        position += STEP_S * (slow - leak_per_s * position)
        if quick:
            position += quick.pop()
            continue
        wait -= STEP_S * (1.0 + abs(slow) / 12.0)
        outward = position * np.sign(slow)
        if wait < 0.0 or outward > 13.0:
            wait = rng.gamma(8.0, 0.1)
            jump = -np.sign(slow) * abs(rng.normal(0.1 * abs(slow), 2.0)) - position
            if abs(jump) > 0.4:
                count = max(3, round((0.020 + 0.0025 * abs(jump)) / STEP_S))
                bell = np.sin(np.pi * (np.arange(count) + 0.5) / count)
                quick = (jump * bell / bell.sum()).tolist()
    return out


def recorded(reflex, time_s, head_deg_s, seed, *, noise_deg=0.06):
    """Both eyes and the chair at 250 samples per second."""
    rng = np.random.default_rng(seed)
    knots_s = np.arange(0.0, time_s[-1] + 2.0, 2.0)
    wander = np.interp(time_s, knots_s, rng.normal(0.0, 0.3, knots_s.size))
    slow = reflex.modulation(head_deg_s) + reflex.bias(time_s) + wander
    eye = beating_eye(slow, rng)
    eyes = {f"eye_h_{s}": eye + rng.normal(0, noise_deg, eye.size) for s in ("right", "left")}
    chair = head_deg_s + rng.normal(0, 0.2, head_deg_s.size)
    return Recording(time_s, 1.0 / STEP_S, eyes, chair, "measured")
