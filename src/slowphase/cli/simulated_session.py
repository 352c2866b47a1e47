"""Join the simulator to the recording layer: simulated trials as a session."""

from collections.abc import Iterable
from datetime import date

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.recorder import Traces
from slowphase.physiology.simulate import SimulatedTrial
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
    return Trial(
        id=plan.id,
        kind=plan.kind,
        vision=plan.vision,
        stimulus=_stimulus(plan),
        outcome="done" if plan.stopped_after_s is None else "stopped",
        reason=plan.reason,
        repeat_of=plan.repeat_of,
        recording=_recording(simulated.traces),
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


def _recording(traces: Traces) -> Recording:
    return Recording(
        time_s=traces.time_s,
        sampling_hz=_sampling_hz(traces.time_s),
        channels=traces.channels,
        head_velocity_deg_s=traces.head_velocity_deg_s,
        head_source="measured",
    )


def _sampling_hz(time_s: FloatArray) -> float:
    """One over the regression of time on sample number."""
    number = np.arange(time_s.size) - (time_s.size - 1) / 2.0
    return float(np.sum(number**2) / np.sum(number * time_s))
