"""A known delay of the eye channel, taken out of every trial of a session."""

from dataclasses import replace

import numpy as np

from slowphase.recording.session import Session
from slowphase.recording.trial import Recording, Trial

APPLIED = "delay_applied"
CONDITION = "eye_late_ms"
DELAY_MAX_S = 0.5  # no recorder is later: chair and eye would not be of one response


def with_eye_delay(session: Session, delay_s: float) -> Session:
    """The session on the eyes' clock, where the eye channel came ``delay_s`` after the chair's.

    The chair is moved later by the delay, so that both are of one moment; eye samples stay as they
    are. The session's conditions say so (``eye_late_ms``) and each trial with a measured chair
    carries ``delay_applied``. Raises ``ValueError`` for a delay that is not finite or beyond half
    a second to either side.
    """
    if not abs(delay_s) <= DELAY_MAX_S:
        raise ValueError(f"delay_s is {delay_s!r}, expected -{DELAY_MAX_S} to {DELAY_MAX_S} s")
    trials = tuple(_moved(trial, delay_s) for trial in session.trials)
    conditions = {**session.conditions, CONDITION: round(1e3 * delay_s, 3)}
    return replace(session, trials=trials, conditions=conditions)


def _moved(trial: Trial, delay_s: float) -> Trial:
    recording = trial.recording
    if recording is None or recording.head_source not in ("measured", "position"):
        return trial
    return replace(trial, recording=_later(recording, delay_s))


def _later(recording: Recording, delay_s: float) -> Recording:
    head = recording.head_velocity_deg_s
    if head is None:
        return recording
    known = np.isfinite(head)
    if not known.any():
        return recording
    moved = np.interp(recording.time_s - delay_s, recording.time_s[known], head[known])
    lost = np.interp(recording.time_s - delay_s, recording.time_s, (~known).astype(float)) > 0.0
    moved[lost] = np.nan
    return replace(recording, head_velocity_deg_s=moved, why=(*recording.why, APPLIED))
