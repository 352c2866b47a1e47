"""What the measures could be at best: an oracle that is told the quick phases, and a bound.

The oracle gets the same noisy samples and the true mask of quick phases and blinks; it trusts
them and so needs no robust weights. The bound is that of Cramér and Rao for the sampled positions,
every beat with an offset of its own, under the true variances of the white noise and of the
wandering eye. It is computed by a Kalman filter, which whitens the derivatives.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.condense import condense
from slowphase.eye.runs import mask_of, runs_of
from slowphase.eye.settings import EyeSettings
from slowphase.eye.track import SIDES, Tracked, find_plane, tracked
from slowphase.measures.interval import propagate
from slowphase.measures.kind import kind_of
from slowphase.measures.model import Model, jacobian_of
from slowphase.measures.prepare import Prepared, fitting
from slowphase.measures.reflex import Drive, resample_motion
from slowphase.measures.regression import Prior, scaled_inverse
from slowphase.measures.result import TrialResult
from slowphase.measures.sinusoid import (
    ADAPT,
    BIAS,
    DECAY,
    GAZE,
    LEFT,
    PHASE,
    RATIO,
    RIGHT,
    SinusoidFit,
    SinusoidModel,
    sinusoid_prior,
)
from slowphase.measures.sinusoid_measures import sinusoid_motion
from slowphase.measures.steady import asymmetry_pct
from slowphase.measures.step import StepModel, find_changes, from_rest, step_prior
from slowphase.measures.step_measures import response_of
from slowphase.measures.step_shape import NO_MISFIT
from slowphase.physiology.eye_states import FIXATING_DRIFT
from slowphase.physiology.person import Person
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import SimulatedTrial, TrialTruth
from slowphase.physiology.truth import FIXATING, exciting, response_left

BOUNDED = "clean"  # the regime with a Cramér-Rao bound
BOUND_HZ = 50.0
UNKNOWN_DEG2 = 1e6


def told(prepared: Prepared, truth: TrialTruth, eye: EyeSettings) -> Tracked:
    """The horizontal plane of a trial behind the true mask."""
    settings = fitting(eye, prepared.trial)
    seen = condense(prepared.recording, settings)
    plane = find_plane(seen, "eye_h", SIDES, settings)
    true = truth.in_quick_phase | truth.lid
    start, stop = runs_of(true)
    settled = mask_of(
        start, stop + round(settings.settle_s * prepared.recording.sampling_hz), true.size
    )
    pad = -settled.size % seen.factor
    jump = np.pad(settled, (0, pad)).reshape(-1, seen.factor).any(axis=1)
    return tracked(seen, plane, np.zeros_like(jump), jump, settings)


def oracle(prepared: Prepared, truth: TrialTruth, eye: EyeSettings) -> TrialResult:
    """The trial measured behind the true mask, by plain least squares."""
    settings = replace(prepared.settings, outlier_sd=np.inf)
    best = replace(prepared, horizontal=told(prepared, truth, eye), settings=settings)
    return kind_of(prepared.trial.kind).measure(best)


def information(columns: np.ndarray, scene: "Scene") -> np.ndarray:
    """Fisher information (k, k) of sampled positions on parameters.

    ``columns`` (n, k) are the derivatives of eye velocity. State: position beside the model, with
    an unknown value at each beat, and the wandering's velocity.
    """
    step_s, sd, seen, noise_deg = 1.0 / BOUND_HZ, scene.drift_deg_s, scene.seen, scene.noise_deg
    kept = np.exp(-step_s / scene.drift_s)
    position = np.cumsum(columns, axis=0) * step_s
    size = columns.shape[1]
    mean = np.zeros((2, size))
    p00, p01, p11 = UNKNOWN_DEG2, 0.0, sd**2
    total = np.zeros((size, size))
    for index in range(position.shape[0]):
        if seen[index]:
            s = p00 + noise_deg**2
            surprise = position[index] - mean[0]
            if p00 < UNKNOWN_DEG2 / 2:
                total += np.outer(surprise, surprise) / s
            k0, k1 = p00 / s, p01 / s
            mean[0] += k0 * surprise
            mean[1] += k1 * surprise
            p00, p01, p11 = p00 - k0 * p00, p01 - k0 * p01, p11 - k1 * p01
        else:
            p00, p01 = UNKNOWN_DEG2, 0.0
        mean[0] += step_s * mean[1]
        mean[1] *= kept
        p00, p01, p11 = (
            p00 + 2 * step_s * p01 + step_s**2 * p11,
            kept * (p01 + step_s * p11),
            kept**2 * p11 + (1 - kept**2) * sd**2,
        )
    return total


def smallest_errors(
    model: Model,
    quantities: Callable[[np.ndarray], np.ndarray],
    parameters: np.ndarray,
    prior: Prior,
    scene: "Scene",
) -> np.ndarray:
    """Smallest standard errors of ``quantities`` of the parameters, given their prior."""
    columns = jacobian_of(model, parameters, model(parameters))
    fisher = information(columns, scene)
    return propagate(quantities, parameters, scaled_inverse(fisher + prior.information))[1]


@dataclass(frozen=True, slots=True)
class Scene:
    """One trial at ``BOUND_HZ``: times and gaze (n,), slow phase or not (n,), the noises."""

    time_s: np.ndarray
    gaze_deg: np.ndarray
    seen: np.ndarray
    noise_deg: float
    drift_deg_s: float
    drift_s: float


def scene_of(
    prepared: Prepared, made: SimulatedTrial, person: Person, equipment: Equipment
) -> Scene:
    """The trial in blocks of `BOUND_HZ`; a block with a quick phase shows no slow phase."""
    truth, factor = made.truth, round(prepared.recording.sampling_hz / BOUND_HZ)
    whole = truth.time_s.size // factor * factor

    def blocks(values: np.ndarray) -> np.ndarray:
        return values[:whole].reshape(-1, factor)

    quiet = FIXATING_DRIFT if made.plan.vision in FIXATING else 1.0
    per_eye = np.hypot(equipment.noise_deg, equipment.quantum_deg / np.sqrt(12))
    return Scene(
        time_s=blocks(truth.time_s).mean(axis=1),
        gaze_deg=blocks(truth.position_deg).mean(axis=1),
        seen=~blocks(truth.in_quick_phase | truth.lid).any(axis=1),
        noise_deg=float(per_eye / np.sqrt(len(equipment.eyes) * factor)),
        drift_deg_s=quiet * person.oculomotor.drift_deg_s,
        drift_s=person.oculomotor.drift_s,
    )


def trial_bounds(
    prepared: Prepared, made: SimulatedTrial, person: Person, equipment: Equipment
) -> dict[str, float]:
    """Smallest standard error of each measure of one trial, by the measure's id.

    Time constants: of the logarithm; phase in degrees.
    """
    scene = scene_of(prepared, made, person, equipment)
    bounds = {"sinusoid": _of_sinusoid, "step": _of_step, "spontaneous": _of_rest}
    found = bounds[prepared.trial.kind](prepared, made, person, scene)
    return {f"{prepared.trial.id}/{name}": float(value) for name, value in found.items()}


def _of_rest(_prepared, _made, _person, scene: Scene) -> dict[str, float]:
    fisher = information(np.ones((scene.time_s.size, 1)), scene)
    return {"horizontal/velocity": fisher[0, 0] ** -0.5}


def _of_sinusoid(prepared, made, person, scene: Scene) -> dict[str, float]:
    frequency = made.plan.frequency_hz
    recording, settings = prepared.recording, prepared.settings
    head = recording.head_velocity_deg_s
    motion = sinusoid_motion(recording.time_s, head, frequency, settings)
    drive = Drive(motion, scene.time_s[:, None])
    left = response_left(person, made.plan)
    reflex, prior = person.reflex, sinusoid_prior(settings)
    decays = [side.dynamics.decay_s for side in (reflex.right, reflex.left)]
    parameters = np.zeros(10)
    parameters[BIAS] = made.truth.measures["bias"]
    parameters[RIGHT], parameters[LEFT] = left * reflex.right.gain, left * reflex.left.gain
    parameters[DECAY] = np.log(decays).mean()
    parameters[RATIO] = np.log(decays[0] / decays[1])
    parameters[ADAPT] = np.log(reflex.right.dynamics.adaptation_s)
    parameters[PHASE] = -2 * np.pi * frequency * reflex.latency_s
    parameters[GAZE] = person.oculomotor.gaze_leak_per_s
    nothing = np.zeros(0)
    fit = SinusoidFit(
        None, frequency, made.plan.peak_velocity_deg_s, nothing, 0.0, nothing, nothing
    )
    middle = fit.steady(parameters).fundamental

    def values(p: np.ndarray) -> np.ndarray:
        steady = fit.steady(p)
        cycle = steady.cycle(fit.peak_deg_s, float(p[BIAS]))
        phase = np.degrees(np.angle(steady.fundamental / middle))
        sizes = steady.half_gains
        return np.array([abs(steady.fundamental), phase, p[BIAS], *sizes, asymmetry_pct(cycle)])

    errors = smallest_errors(
        SinusoidModel(drive, frequency, scene.gaze_deg),
        values,
        parameters,
        prior,
        scene,
    )
    names = ("gain", "phase", "bias", "gain_right", "gain_left", "asymmetry")
    return dict(zip(names, errors, strict=True))


def _of_step(prepared, made, person, scene: Scene) -> dict[str, float]:
    recording, plan = prepared.recording, made.plan
    settings = prepared.settings
    motion = resample_motion(recording.time_s, recording.head_velocity_deg_s, 50.0)
    motion = from_rest(motion, settings)
    changes = find_changes(motion, settings)
    drive = Drive(motion, scene.time_s[:, None])
    sides = [getattr(person.reflex, exciting(plan, change.of)) for change in changes]
    parameters = np.zeros(4 + 2 * len(changes))
    parameters[0] = made.truth.measures["bias"]
    parameters[1] = np.log(sides[0].dynamics.adaptation_s)
    parameters[2] = person.oculomotor.gaze_leak_per_s
    parameters[3] = person.reflex.latency_s
    parameters[4::2] = [side.gain for side in sides]
    parameters[5::2] = [np.log(side.dynamics.decay_s) for side in sides]

    def values(p: np.ndarray) -> np.ndarray:
        both = [response_of(p, change, i, NO_MISFIT)[:2] for i, change in enumerate(changes)]
        return np.concatenate([*both, p[:1]])

    errors = smallest_errors(
        StepModel(drive, changes, scene.gaze_deg),
        values,
        parameters,
        step_prior(changes, prepared.settings),
        scene,
    )
    names = [f"{c.of}/{name}" for c in changes for name in ("gain", "time_constant")]
    return dict(zip([*names, "bias"], errors, strict=True))
