"""Short traces whose slow phase is known to the last digit, without the simulator.

The eye follows a given slow-phase velocity and is put back by a 28 ms movement whenever it has
come too far out. Only white position noise is added.
"""

from typing import Any

import numpy as np

from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import integrate
from slowphase.measures.kinds import measure_trial
from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import filtered, high_pass
from slowphase.recording.trial import Recording, Trial

RATE_HZ = 250.0
QUICK_S = 0.028


def times(length_s: float, rate_hz: float = RATE_HZ) -> np.ndarray:
    return np.arange(round(length_s * rate_hz)) / rate_hz


def beating(velocity_deg_s: np.ndarray, time_s: np.ndarray, *, limit_deg: float = 8.0):
    """Eye position that follows the velocity and beats back beyond the middle at the limit."""
    slow = integrate(velocity_deg_s, time_s)
    put_back, offset = 0.0, np.zeros(slow.size)
    for index, value in enumerate(slow):
        if abs(value + put_back) > limit_deg:
            put_back = -value - 0.4 * np.sign(value + put_back) * limit_deg
        offset[index] = put_back
    width = max(1, round(QUICK_S / (time_s[1] - time_s[0])))
    padded = np.concatenate([np.zeros(width - 1), offset])
    return slow + np.convolve(padded, np.ones(width) / width, mode="valid")


def recorded(
    velocity_deg_s: np.ndarray,
    head_deg_s: np.ndarray | None,
    time_s: np.ndarray,
    *,
    noise_deg: float = 0.03,
    seed: int = 0,
) -> Recording:
    """One horizontal eye on the given clock."""
    noise = np.random.default_rng(seed).normal(0.0, noise_deg, time_s.size)
    rate = 1.0 / float(np.polyfit(np.arange(time_s.size), time_s, 1)[0])
    eye = beating(velocity_deg_s, time_s) + noise
    return Recording(time_s, rate, {"eye_h_right": eye}, head_deg_s, "measured")


def answered(head_deg_s: np.ndarray, right: tuple, left: tuple, adaptation_s: float | None):
    """Modulated slow phase of (gain, decay in s) per exciting direction; None: no adaptation."""
    moved = np.zeros_like(head_deg_s)
    for way, (gain, decay_s) in ((1.0, right), (-1.0, left)):
        one = high_pass(decay_s) if adaptation_s is None else effective(decay_s, adaptation_s)
        moved -= way * gain * np.maximum(way * filtered(one, head_deg_s, RATE_HZ), 0.0)
    return moved


def turning(frequency_hz: float, cycles: float, time_s: np.ndarray, *, peak=60.0, lead_s=3.0):
    """Head velocity of a sinusoid from rest."""
    moving = np.clip(time_s - lead_s, 0.0, cycles / frequency_hz)
    return peak * np.sin(2 * np.pi * frequency_hz * moving)


def spinning(time_s: np.ndarray, *, velocity=100.0, start_s=3.0, stop_s=1e9, ramp_s=0.7):
    """Head velocity of a spin: rest, ramp, plateau, ramp, rest; shape of ``time_s``."""
    up = np.clip((time_s - start_s) / ramp_s, 0.0, 1.0)
    down = np.clip((time_s - stop_s) / ramp_s, 0.0, 1.0)
    return velocity * (up - down)


def trial(kind: str, recording: Recording, *, name: str = "made", vision="dark", **stimulus: Any):
    return Trial(id=name, kind=kind, vision=vision, stimulus=stimulus, recording=recording)


def result_of(one: Trial, settings: MeasureSettings | None = None) -> TrialResult:
    return measure_trial(one, EyeSettings(), settings or MeasureSettings())


def by_name(result: TrialResult) -> dict[str, Measure]:
    """Measures by ``name`` or ``of/name``."""
    return {f"{m.of}/{m.name}" if m.of else m.name: m for m in result.measures}


def measured(one: Trial, settings: MeasureSettings | None = None) -> dict[str, Measure]:
    return by_name(result_of(one, settings))
