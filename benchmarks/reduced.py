"""Simulated sessions reduced to their slow phases: no eye is drawn, so that thousands are quick.

Pieces of slow phase are drawn straight from a person's noise-free velocity, with a drifting eye,
white noise, a gaze that wanders and a gaze term; quick phases only cut them. Everything behind the
eye layer is that of the product.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.eye.trace import USED, EyeTrace, QuickPhases
from slowphase.eye.track import Tracked
from slowphase.measures.kind import kind_of
from slowphase.measures.prepare import Prepared, of_vision
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, head_velocity
from slowphase.physiology.spontaneous import bias_at
from slowphase.physiology.truth import bias_left, noise_free_velocity
from slowphase.recording.trial import Recording, Trial

GRID_HZ = 100.0
PIECE_S = 0.28
BEAT_S = 0.06  # left out between pieces
WHITE_DEG_S = 0.5
DRIFT_DEG_S, DRIFT_S = 0.3, 2.0
GAZE_DEG, GAZE_S = 5.0, 1.5
SEEING_DRIFT = 0.4  # share of the drift that is left where something is seen
Generator = np.random.Generator
Disturb = Callable[[TrialPlan, np.ndarray], np.ndarray]


def reduced_session(
    person: Person,
    plans: tuple[TrialPlan, ...],
    rng: Generator,
    *,
    disturb: Disturb | None = None,
) -> tuple[TrialResult, ...]:
    """Each trial measured, from its slow phase alone.

    ``disturb`` maps a plan and the chair's motion to the motion that the reflex is given instead:
    what no single reflex could have done.
    """
    begun_s, results = 0.0, []
    for plan in plans:
        prepared = reduced_trial(person, plan, begun_s, rng, disturb)
        results.append(kind_of(plan.kind).measure(prepared))
        begun_s += plan.length_s + plan.pause_s
    return tuple(results)


def reduced_trial(
    person: Person,
    plan: TrialPlan,
    begun_s: float,
    rng: Generator,
    disturb: Disturb | None = None,
) -> Prepared:
    """One trial with its pieces drawn."""
    time_s = np.arange(int(plan.length_s * GRID_HZ)) / GRID_HZ
    head = head_velocity(plan, time_s)
    driven = disturb(plan, head) if disturb else head
    velocity = noise_free_velocity(person, plan, driven, GRID_HZ)
    velocity = velocity + bias_left(person, plan) * bias_at(person.spontaneous, begun_s + time_s)
    velocity *= person.alertness.throughout
    pieces = drawn(time_s, velocity, plan, person.oculomotor.gaze_leak_per_s, rng)
    stimulus = {"frequency_hz": plan.frequency_hz, "peak_velocity_deg_s": plan.peak_velocity_deg_s}
    trial = Trial(
        id=plan.id,
        kind=plan.kind,
        vision=plan.vision,
        stimulus=stimulus if plan.kind == "sinusoid" else {},
    )
    recording = Recording(
        time_s=time_s,
        sampling_hz=GRID_HZ,
        channels={},
        head_velocity_deg_s=head,
        head_source="measured",
    )
    nothing = np.zeros(0)
    trace = EyeTrace(
        time_s,
        np.zeros(time_s.size),
        velocity,
        np.full(time_s.size, USED),
        QuickPhases(nothing, nothing, nothing, nothing),
    )
    tracked = Tracked(trace, pieces, 0.05, ("right", "left"))
    settings = of_vision(MeasureSettings(), trial)
    return Prepared(trial, recording, tracked, None, (), settings)


def drawn(
    time_s: np.ndarray, velocity: np.ndarray, plan: TrialPlan, leak: float, rng: Generator
) -> Pieces:
    """Pieces of slow phase of one trial; they get shorter where the eye is fast."""
    start, stop = cuts(time_s.size, velocity, plan, rng)
    duration = (stop - start) / GRID_HZ
    middle = time_s[start] + 0.5 * (duration - 1.0 / GRID_HZ)
    seeing = SEEING_DRIFT if plan.vision != "dark" else 1.0
    drift = wandering(seeing * DRIFT_DEG_S, DRIFT_S, time_s.size, rng)
    gaze = wandering(GAZE_DEG, GAZE_S, time_s.size, rng)
    noise = np.full(start.size, WHITE_DEG_S) * np.sqrt(PIECE_S / duration)
    bare = Pieces(
        start, stop, middle, duration, noise, noise, noise, np.arange(start.size, dtype=np.int64)
    )
    nodes = bare.node_times_s()
    slow = np.interp(nodes, time_s, velocity + drift - leak * gaze).mean(axis=1)
    return replace(
        bare,
        velocity_deg_s=slow + noise * rng.standard_normal(start.size),
        gaze_deg=np.interp(nodes, time_s, gaze).mean(axis=1),
    )


def cuts(
    count: int, velocity: np.ndarray, plan: TrialPlan, rng: Generator
) -> tuple[np.ndarray, np.ndarray]:
    """First and last (exclusive) sample of each piece; pieces stay short beside a period."""
    longest = min(PIECE_S, 0.12 / plan.frequency_hz) if plan.frequency_hz else PIECE_S
    starts, stops, at = [], [], 0
    while True:
        length = max(int(longest * rng.uniform(0.7, 1.3) * GRID_HZ), 6)
        if at + length > count:
            break
        starts.append(at)
        stops.append(at + length)
        at += length + max(int(BEAT_S * GRID_HZ * rng.uniform(0.0, 2.0)), 0)
    return np.array(starts, dtype=np.int64), np.array(stops, dtype=np.int64)


def wandering(sd: float, memory_s: float, count: int, rng: Generator) -> np.ndarray:
    """A first-order autoregressive course of this SD and memory, shape (count,)."""
    from scipy.signal import lfilter

    kept = np.exp(-1.0 / (memory_s * GRID_HZ))
    steps = rng.standard_normal(count) * sd * np.sqrt(1.0 - kept**2)
    steps[0] = rng.standard_normal() * sd
    return np.asarray(lfilter([1.0], [1.0, -kept], steps))
