"""Join the simulator to the recording layer: simulated trials as a session."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from math import pi

from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.recorder import Traces
from slowphase.physiology.simulate import SimulatedTrial
from slowphase.recording.clock import sampling_rate
from slowphase.recording.head import rebuild_velocity
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Recording, Trial


def session_from(
    trials: Iterable[SimulatedTrial],
    patient: Patient,
    day: date,
    *,
    notes: dict[str, str] | None = None,
    conditions: dict[str, str | float] | None = None,
) -> Session:
    """A session in memory as the reader would give it, without problems and digest."""
    return Session(
        patient=patient,
        date=day,
        trials=tuple(_trial(trial) for trial in trials),
        notes=notes or {},
        conditions=conditions or {},
    )


def _trial(simulated: SimulatedTrial) -> Trial:
    plan = simulated.plan
    stimulus = _stimulus(plan)
    if simulated.traces.head_velocity_deg_s is None:
        stimulus |= _motion_keys(plan)
    return Trial(
        id=plan.id,
        kind=plan.kind,
        vision=plan.vision,
        stimulus=stimulus,
        outcome="done" if plan.stopped_after_s is None else "stopped",
        reason=plan.reason,
        repeat_of=plan.repeat_of,
        recording=_recording(simulated.traces, plan.kind, stimulus),
    )


def _stimulus(plan: TrialPlan) -> dict[str, object]:
    if plan.kind in ("sinusoid", "check"):
        asked: dict[str, object] = {
            "frequency_hz": plan.frequency_hz,
            "peak_velocity_deg_s": plan.peak_velocity_deg_s,
        }
        return asked | ({"eye_fixed_to": plan.eye_fixed_to} if plan.kind == "check" else {})
    if plan.kind == "step":
        return {"direction": plan.direction, "velocity_deg_s": plan.velocity_deg_s}
    return _target_keys(plan) | _other_keys(plan)


def _target_keys(plan: TrialPlan) -> dict[str, object]:
    """What a target does, for the kinds that have one."""
    if plan.kind in ("calibration", "saccade"):
        return {
            "targets_deg": list(plan.targets_deg),
            "hold_s": plan.hold_s,
            "start_at_s": plan.lead_s - plan.recorded_from_s,
        }
    if plan.kind == "gaze":
        return {"eccentricity_deg": plan.eccentricity_deg}
    if plan.kind == "pursuit":
        omega = 2 * pi * plan.frequency_hz
        return {
            "frequency_hz": plan.frequency_hz,
            "peak_velocity_deg_s": plan.peak_velocity_deg_s,
            "amplitude_deg": round(plan.peak_velocity_deg_s / omega, 2),
        }
    return {}


def _other_keys(plan: TrialPlan) -> dict[str, object]:
    """Scene, irrigation and impulses; times count from the start of the recording."""
    start_s = plan.lead_s - plan.recorded_from_s
    if plan.kind == "optokinetic":
        moving_s = [start_s, start_s + plan.rotation_s]
        return {
            "velocity_deg_s": plan.velocity_deg_s,
            "direction": plan.direction,
            "moving_s": moving_s,
        }
    if plan.kind == "caloric":
        keys: dict[str, object] = {
            "ear": plan.ear,
            "temperature_c": plan.temperature_c,
            "medium": plan.medium,
            "irrigation_s": [start_s, start_s + plan.irrigation_s],
        }
        if plan.fixation_s is not None:
            keys["fixation_s"] = [when - plan.recorded_from_s for when in plan.fixation_s]
        return keys
    if plan.kind == "head-shaking":
        stop_s = start_s + plan.cycles / plan.frequency_hz
        return {"frequency_hz": plan.frequency_hz, "shaken_s": [start_s, stop_s]}
    if plan.kind == "positional":
        named = {"sits_up_from": plan.sits_up_from} if plan.sits_up_from else {}
        return {"position": plan.position, "positioned_s": start_s, **named}
    return {"plane": "horizontal"} if plan.kind == "impulse" else {}


def _motion_keys(plan: TrialPlan) -> dict[str, object]:
    """The further keys that tell the motion where the chair was not recorded."""
    start = {"start_at_s": plan.lead_s - plan.recorded_from_s}
    if plan.kind == "sinusoid":
        return {"cycles": plan.cycles, **start}
    if plan.kind == "step":
        return {
            "acceleration_deg_s2": plan.acceleration_deg_s2,
            "constant_s": plan.rotation_s,
            **start,
        }
    return {}


def _recording(traces: Traces, kind: str, stimulus: Mapping[str, object]) -> Recording:
    head = traces.head_velocity_deg_s
    recording = Recording(
        time_s=traces.time_s,
        sampling_hz=sampling_rate(traces.time_s),
        channels=traces.channels,
        head_velocity_deg_s=head,
        head_source=None if head is None else "measured",
    )
    return recording if head is not None else _with_rebuilt_head(recording, kind, stimulus)


def _with_rebuilt_head(
    recording: Recording, kind: str, stimulus: Mapping[str, object]
) -> Recording:
    head = rebuild_velocity(kind, stimulus, recording.time_s)
    if head is None:
        return recording
    return replace(
        recording, head_velocity_deg_s=head, head_source="rebuilt", why=("head_rebuilt",)
    )
