"""Join the simulator to the recording layer: simulated trials as a session."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

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
    if plan.kind == "sinusoid":
        return {
            "frequency_hz": plan.frequency_hz,
            "peak_velocity_deg_s": plan.peak_velocity_deg_s,
        }
    if plan.kind == "step":
        return {"direction": plan.direction, "velocity_deg_s": plan.velocity_deg_s}
    return {}


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
