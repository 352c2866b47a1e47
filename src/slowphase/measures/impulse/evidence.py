"""The samples behind a trial of impulses: both planes, and every impulse as it was judged."""

import numpy as np

from slowphase.eye.runs import mask_of
from slowphase.eye.trace import UNUSED_REASONS, USED, EyeTrace, QuickPhases
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.measures.impulse.impulse import Impulses
from slowphase.measures.impulse.plane import CANALS, HeadMotion
from slowphase.measures.impulse.saccades import Saccade
from slowphase.measures.impulse.signals import Signals
from slowphase.measures.result import Evidence
from slowphase.recording.trial import Recording


def evidence_of(
    recording: Recording, signals: Signals, head: HeadMotion, found: Impulses
) -> Evidence:
    """Traces on the recording's clock; ``own`` holds the impulses.

    The plane that was not measured is there without samples.
    """
    own = _trace(recording, signals, found)
    empty = _unseen(recording.time_s)
    lateral = found.plane == "lateral"
    return Evidence(
        horizontal=own if lateral else empty,
        head_velocity_deg_s=head.in_plane_deg_s,
        vertical=None if lateral else own,
        own=found,
    )


def _trace(recording: Recording, signals: Signals, found: Impulses) -> EyeTrace:
    events = saccades_of(found)
    clock = signals.time_s
    ends = [np.searchsorted(clock, times) for times in (events.onset_s, events.offset_s)]
    use = np.full(clock.size, USED, dtype=np.int64)
    use[mask_of(ends[0], ends[1] + 1, clock.size)] = UNUSED_REASONS.index("quick_phase")
    use[signals.hidden] = UNUSED_REASONS.index("lost")
    velocity = np.where(use == USED, signals.eye_deg_s, np.nan)
    return EyeTrace(
        recording.time_s,
        _on(recording, clock, signals.position_deg),
        _on(recording, clock, velocity),
        _nearest(recording, clock, use),
        events,
    )


def saccades_of(found: Impulses) -> QuickPhases:
    """Every saccade near an impulse, signed as the eye moves, in order of onset.

    What is near two impulses is counted once.
    """
    rows: dict[int, tuple[float, float, float, float]] = {}
    for one in found.impulses:
        against = -1.0 if one.canal == CANALS[found.plane][0] else 1.0
        for saccade in one.response.saccades if one.response else ():
            row = _row(saccade, one.onset_s, against)
            rows.setdefault(round(50.0 * row[0]), row)
    table = np.array(sorted(rows.values()), dtype=float).reshape(-1, 4)
    return QuickPhases(*table.T.copy())


def _row(saccade: Saccade, onset_s: float, way: float) -> tuple[float, float, float, float]:
    return (
        onset_s + saccade.onset_s,
        onset_s + saccade.offset_s,
        way * saccade.amplitude_deg,
        way * saccade.peak_deg_s,
    )


def _on(recording: Recording, clock: FloatArray, values: FloatArray) -> FloatArray:
    return np.interp(recording.time_s, clock, values)


def _nearest(recording: Recording, clock: FloatArray, use: IntArray) -> IntArray:
    place = np.rint((recording.time_s - clock[0]) * recording.sampling_hz).astype(np.int64)
    return use[np.clip(place, 0, use.size - 1)]


def _unseen(time_s: FloatArray) -> EyeTrace:
    nothing = np.full(time_s.size, np.nan)
    lost = np.full(time_s.size, UNUSED_REASONS.index("lost"), dtype=np.int64)
    return EyeTrace(time_s, nothing, nothing, lost, QuickPhases(*(np.zeros(0) for _ in range(4))))
