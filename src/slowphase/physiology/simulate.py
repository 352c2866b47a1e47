"""From a person, a protocol, equipment and a seed to recorded trials with their truth."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.alertness import Alertness, Lapse, alert_factor, draw_lapses, lapse_mask
from slowphase.physiology.artificial_eye import check_trial
from slowphase.physiology.blink import draw_blinks
from slowphase.physiology.eye_states import (
    drifting,
    eye_in_the_dark,
    eye_on_a_target,
    upright_motion,
)
from slowphase.physiology.movement import Moment, Movement, grid_of
from slowphase.physiology.oculomotor import (
    GRID_HZ,
    EyeMotion,
    Saccades,
    during,
    eye_motion,
    wandering,
)
from slowphase.physiology.person import Person
from slowphase.physiology.positional_trial import positional_trial
from slowphase.physiology.protocol import TrialPlan, head_velocity
from slowphase.physiology.recorder import Equipment, Traces, record, with_target, with_torsion
from slowphase.physiology.roving import roving_velocity
from slowphase.physiology.scene import with_scene
from slowphase.physiology.spontaneous import bias_at
from slowphase.physiology.target_trials import gaze_trial, jumping_target, pursuit_trial
from slowphase.physiology.truth import (
    FIXATING,
    Measures,
    bias_left,
    noise_free_velocity,
    sinusoid_truth,
    spontaneous_truth,
    step_truth,
    suppression_truth,
)
from slowphase.physiology.vestibular_trials import (
    caloric_trial,
    head_shaking_trial,
    impulse_trial,
    optokinetic_trial,
)

TRIALS: dict[str, Callable[[Person, TrialPlan, Moment], Movement]] = {
    "calibration": jumping_target,
    "saccade": jumping_target,
    "gaze": gaze_trial,
    "pursuit": pursuit_trial,
    "optokinetic": optokinetic_trial,
    "caloric": caloric_trial,
    "head-shaking": head_shaking_trial,
    "impulse": impulse_trial,
    "positional": positional_trial,
    "check": check_trial,
}
SETTLED_DEG = 0.02  # what may be left of the after-movement of a saccade


@dataclass(frozen=True, slots=True)
class TrialTruth:
    """What really happened in one trial; arrays of shape (n,) are on the recorder's clock.

    ``measures`` maps ``name`` or ``of/name`` to the true value (None where there is none).
    ``slow_phase_deg_s`` is the true horizontal slow-phase velocity, gaze term and drift included;
    ``quick_phases`` the true horizontal saccades of any kind and ``in_quick_phase`` their samples;
    ``settling`` marks what rings or glides after them. ``lid`` marks blinks, ``lapse`` lapses of
    alertness; ``bad`` marks, for each recorded eye, samples that are not lost and not to be
    trusted. ``alert`` is False when alertness was low throughout. ``events`` holds true times (s)
    and sizes of what else happened, such as head impulses. A true mask of slow phase is what is
    left by ``in_quick_phase``, ``settling``, ``lid`` and the ``bad`` of an eye.
    """

    measures: Measures
    time_s: FloatArray
    slow_phase_deg_s: FloatArray
    position_deg: FloatArray
    head_velocity_deg_s: FloatArray
    quick_phases: Saccades
    in_quick_phase: BoolArray
    settling: BoolArray
    lid: BoolArray
    lapse: BoolArray
    bad: dict[str, BoolArray]
    alert: bool
    events: dict[str, tuple[float, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SimulatedTrial:
    """One recorded trial: its plan, what the equipment stored, and what really happened."""

    plan: TrialPlan
    traces: Traces
    truth: TrialTruth


def simulate(
    person: Person,
    protocol: Sequence[TrialPlan],
    equipment: Equipment,
    *,
    seed: int,
    progress: Callable[[str], None] | None = None,
) -> tuple[SimulatedTrial, ...]:
    """Every trial of a session, one after the other; the same seed gives the same samples.

    ``progress`` hears the id of each trial before it is made.
    """
    trials: list[SimulatedTrial] = []
    session_time_s = 0.0
    for index, plan in enumerate(protocol):
        if progress is not None:
            progress(plan.id)
        rng = np.random.default_rng([seed, index])
        trials.append(simulate_trial(person, plan, equipment, rng, session_time_s=session_time_s))
        session_time_s += plan.length_s + plan.pause_s
    return _with_suppression(tuple(trials))


def simulate_trial(
    person: Person,
    plan: TrialPlan,
    equipment: Equipment,
    rng: np.random.Generator,
    *,
    session_time_s: float = 0.0,
) -> SimulatedTrial:
    """One trial that begins ``session_time_s`` after the session did."""
    lapses = draw_lapses(person.alertness, plan.length_s, rng)
    blinking = replace(person.blinking, per_min=0.0) if plan.kind == "check" else person.blinking
    blinks = draw_blinks(blinking, plan.length_s - plan.recorded_from_s, rng)
    moment = Moment(session_time_s, lapses, rng)
    movement = TRIALS.get(plan.kind, chair_trial)(person, plan, moment)
    first = int(plan.recorded_from_s * GRID_HZ)
    seen = _recorded_part(movement.horizontal, first)
    upward = _recorded_part(movement.vertical, first)
    head = movement.head_deg_s[first:]
    begun_s = session_time_s + plan.recorded_from_s
    traces = record(equipment, seen, upward, head, blinks, rng, session_time_s=begun_s)
    if movement.target_deg is not None:
        traces = with_target(traces, movement.target_deg[first:])
    if movement.torsional is not None:
        traces = with_torsion(equipment, traces, _recorded_part(movement.torsional, first), rng)
    if plan.kind == "spontaneous":
        gaze = float(np.mean(seen.position_deg)), float(np.mean(upward.position_deg))
        measures = spontaneous_truth(person, plan, session_time_s, gaze)
        movement = replace(movement, measures=measures)
    lapsing = lapse_mask(lapses, traces.time_s + plan.recorded_from_s)
    return SimulatedTrial(plan, traces, _truth(person, plan, traces, (movement, seen), lapsing))


def chair_trial(person: Person, plan: TrialPlan, moment: Moment) -> Movement:
    """Rest, sinusoids and spins; the measures of a rest are known once its gaze is."""
    rng = moment.rng
    head = head_velocity(plan, grid_of(plan))
    steady = wanted_velocity(
        person, plan, head, moment.lapses, session_time_s=moment.session_time_s
    )
    wavering = _wavering(person.alertness, steady, rng)
    if person.alertness.roving_deg and plan.vision not in FIXATING:
        wavering = wavering + _roving(person.alertness, moment.lapses, steady.size, rng.spawn(1)[0])
    horizontal, vertical = _both_planes(person, plan, wavering, rng)
    return Movement(horizontal, vertical, head, _chair_measures(person, plan, moment))


def _chair_measures(person: Person, plan: TrialPlan, moment: Moment) -> Measures:
    if plan.kind == "sinusoid":
        return sinusoid_truth(person, plan, moment.session_time_s)
    return step_truth(person, plan, moment.session_time_s) if plan.kind == "step" else {}


def _wavering(
    alertness: Alertness, velocity_deg_s: FloatArray, rng: np.random.Generator
) -> FloatArray:
    if not alertness.waver:
        return velocity_deg_s
    waver = wandering(alertness.waver, alertness.waver_s, velocity_deg_s.size, rng)
    return velocity_deg_s * (1.0 + waver)


def _roving(
    alertness: Alertness, lapses: tuple[Lapse, ...], count: int, rng: np.random.Generator
) -> FloatArray:
    factor = alert_factor(alertness, lapses, np.arange(count) / GRID_HZ)
    return roving_velocity(alertness, factor, rng)


def _recorded_part(motion: EyeMotion, first: int) -> EyeMotion:
    """The motion from a sample of the grid on, its saccades on the new clock."""
    saccades, start_s = motion.saccades, first / GRID_HZ
    later = saccades.onset_s >= start_s
    return EyeMotion(
        motion.position_deg[first:],
        motion.slow_phase_deg_s[first:],
        Saccades(
            saccades.onset_s[later] - start_s,
            saccades.duration_s[later],
            saccades.amplitude_deg[later],
            saccades.peak_velocity_deg_s[later],
        ),
        motion.ringing_deg[first:],
    )


def wanted_velocity(
    person: Person,
    plan: TrialPlan,
    head_velocity_deg_s: FloatArray,
    lapses: tuple[Lapse, ...] = (),
    *,
    session_time_s: float = 0.0,
    sampling_hz: float = GRID_HZ,
) -> FloatArray:
    """Slow-phase velocity that the reflex and the bias ask for, shape (n,), from time 0 on."""
    time_s = np.arange(head_velocity_deg_s.size) / sampling_hz
    reflex = noise_free_velocity(person, plan, head_velocity_deg_s, sampling_hz)
    bias = bias_left(person, plan) * bias_at(person.spontaneous, session_time_s + time_s)
    wanted = alert_factor(person.alertness, lapses, time_s) * (reflex + bias)
    if not plan.light_leak or plan.vision in FIXATING:
        return wanted
    return with_scene(plan.light_leak, wanted, head_velocity_deg_s, sampling_hz)


def _both_planes(
    person: Person, plan: TrialPlan, wanted: FloatArray, rng: np.random.Generator
) -> tuple[EyeMotion, EyeMotion]:
    eye = eye_on_a_target(person) if plan.vision in FIXATING else eye_in_the_dark(person)
    horizontal = eye_motion(eye, wanted + drifting(eye, wanted.size, rng), rng)
    upward = bias_left(person, plan) * person.spontaneous.vertical_deg_s
    upward *= person.alertness.throughout
    return horizontal, upright_motion(eye, horizontal, upward, rng)


def _truth(
    person: Person,
    plan: TrialPlan,
    traces: Traces,
    moved: tuple[Movement, EyeMotion],
    lapsing: BoolArray,
) -> TrialTruth:
    movement, motion = moved
    head = movement.head_deg_s[int(plan.recorded_from_s * GRID_HZ) :]
    grid = np.arange(head.size) / GRID_HZ
    slow, position, chair, after = (
        np.interp(traces.time_s, grid, signal)
        for signal in (motion.slow_phase_deg_s, motion.position_deg, head, motion.ringing_deg)
    )
    return TrialTruth(
        measures=movement.measures,
        time_s=traces.time_s,
        slow_phase_deg_s=slow,
        position_deg=position,
        head_velocity_deg_s=chair,
        quick_phases=motion.saccades,
        in_quick_phase=during(motion.saccades, traces.time_s),
        settling=np.abs(after) > SETTLED_DEG,
        lid=traces.lid,
        lapse=lapsing,
        bad=traces.bad,
        alert=person.alertness.throughout > 0.9,
        events=_on_the_clock(movement.events, plan.recorded_from_s),
    )


def _on_the_clock(
    events: dict[str, tuple[float, ...]], from_s: float
) -> dict[str, tuple[float, ...]]:
    """Events with their times counted from the start of the recording."""
    moved = {name for name in events if name.endswith("_s") and not name.endswith("deg_s")}
    return {
        name: tuple(value - from_s for value in values) if name in moved else values
        for name, values in events.items()
    }


def _with_suppression(trials: tuple[SimulatedTrial, ...]) -> tuple[SimulatedTrial, ...]:
    """Add ``suppression`` to each trial with a head-fixed target that has a dark partner."""
    dark = {
        trial.plan.frequency_hz: trial.truth.measures
        for trial in trials
        if trial.plan.kind == "sinusoid" and trial.plan.vision == "dark"
    }
    for trial in trials:
        plan, measures = trial.plan, trial.truth.measures
        if plan.vision == "head-fixed target" and plan.frequency_hz in dark:
            measures |= suppression_truth(dark[plan.frequency_hz], measures)
    return trials
