"""How well quick phases are found: labelled saccades, and simulated quick phases of any size.

The labelled saccades are human gaze at 1000 Hz marked by one expert (Zemblys, Niehorster,
Komogortsev, Holmqvist 2018, Behav Res Methods 50:160-181), three subjects, default settings; rows
are missing where that data is not at hand. The simulated trials are a sinusoid in the dark, one
with a target and catch-up saccades, and a step, all with many small quick phases: by true size for
recall and errors, by found size for precision. An event agrees with at most one of the other side
that it overlaps; what is within 0.1 s of a blink or of lost samples counts for neither.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from slowphase.cli.simulated_session import session_from
from slowphase.eye.track import track
from slowphase.physiology.oculomotor import QuickPhases
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid, step
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import SimulatedTrial, simulate
from slowphase.recording.session import Patient

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
import labelled_saccades as outside
from labelled_saccades import Events, matched

SEED = 20261126
RATES_HZ = (60.0, 250.0, 1000.0)
NOISES_DEG = (0.02, 0.06, 0.2, 0.5, 1.0)
CLASSES_DEG = ((0.25, 0.5), (0.5, 1.0), (1.0, 2.0), (2.0, np.inf))
SESSIONS = 4


def run() -> list[dict[str, object]]:
    """One row per labelled subject, and per sampling rate, noise and size of quick phase."""
    rows = [row for subject in outside.SUBJECTS for row in _subject(subject)]
    for rate in RATES_HZ:
        for noise in NOISES_DEG:
            rows += simulated_rows(rate, noise)
            print(f"  {rate:g} Hz, {noise:g} deg", flush=True)
    return rows


def _subject(subject: str) -> list[dict[str, object]]:
    import pytest

    try:
        record = outside.labelled(subject)
    except pytest.skip.Exception as absent:
        print(f"  {absent}")
        return []
    tally = Tally((outside.detected(record), record.saccades))
    return [{"recording": f"labelled, {subject}", "size_deg": "all"} | tally.row(0.0, np.inf)]


def _median(values: np.ndarray, digits: int) -> float | None:
    return round(float(np.median(values)), digits) if values.size else None


def simulated_rows(rate_hz: float, noise_deg: float) -> list[dict[str, object]]:
    """A row per size of quick phase, and one for all of 0.25 deg and more."""
    tally = Tally(*(events(trial) for trial in trials(rate_hz, noise_deg)))
    name = f"simulated, {rate_hz:g} Hz, {noise_deg:g} deg"
    rows = []
    for low, high in (*CLASSES_DEG, (CLASSES_DEG[0][0], np.inf)):
        size = f"{low:g} to {high:g}" if np.isfinite(high) else f"over {low:g}"
        rows.append({"recording": name, "size_deg": size} | tally.row(low, high))
    return rows


class Tally:
    """Found and true events of several recordings, and which of them agree."""

    def __init__(self, *pairs: tuple[Events, Events]) -> None:
        index = [matched(found, true) for found, true in pairs]
        self.found = np.concatenate([np.abs(found.amplitude_deg) for found, _ in pairs])
        self.true = np.concatenate([np.abs(true.amplitude_deg) for _, true in pairs])
        self.right = np.concatenate(
            [np.isin(np.arange(len(p[0])), i[:, 0]) for p, i in zip(pairs, index, strict=True)]
        )
        self.seen = np.concatenate(
            [np.isin(np.arange(len(p[1])), i[:, 1]) for p, i in zip(pairs, index, strict=True)]
        )
        both = [
            (p[0].chosen(i[:, 0]), p[1].chosen(i[:, 1])) for p, i in zip(pairs, index, strict=True)
        ]
        self.size = np.concatenate([np.abs(true.amplitude_deg) for _, true in both])
        self.late_s = np.concatenate([found.onset_s - true.onset_s for found, true in both])
        self.error = np.concatenate(
            [np.abs(found.amplitude_deg) - np.abs(true.amplitude_deg) for found, true in both]
        )

    def row(self, low: float, high: float) -> dict[str, object]:
        """Recall and errors of true events of one size, precision of found ones."""
        true, found = _within(self.true, low, high), _within(self.found, low, high)
        own = _within(self.size, low, high)
        recall = float(self.seen[true].mean()) if true.any() else 0.0
        precision = float(self.right[found].mean()) if found.any() else 0.0
        total = precision + recall
        return {
            "true": int(true.sum()),
            "found": int(found.sum()),
            "recall": round(recall, 3) if true.any() else None,
            "precision": round(precision, 3) if found.any() else None,
            "f1": round(2 * precision * recall / total, 3) if total else 0.0,
            "onset_ms": _median(1000 * self.late_s[own], 1),
            "onset_error_ms": _median(1000 * np.abs(self.late_s[own]), 1),
            "size_error_deg": _median(np.abs(self.error[own]), 3),
            "size_error_pct": _median(100 * np.abs(self.error[own] / self.size[own]), 1),
        }


def trials(rate_hz: float, noise_deg: float) -> list[SimulatedTrial]:
    """Trials of a few invented people with small quick phases, in the dark and with a target."""
    person = Person()
    quick = QuickPhases(small_share=0.5, scatter_deg=0.8)
    person = replace(
        person,
        oculomotor=replace(person.oculomotor, quick=quick, catch_up_deg=1.3),
        fixation=replace(person.fixation, strength=0.6),
    )
    equipment = Equipment(sampling_hz=rate_hz, noise_deg=noise_deg)
    plans = (sinusoid(0.16), sinusoid(0.32, vision="head-fixed target"), step("right"))
    return [
        trial
        for number in range(SESSIONS)
        for trial in simulate(person, plans, equipment, seed=SEED + number)
    ]


def events(trial: SimulatedTrial) -> tuple[Events, Events]:
    """Found and true quick phases of the horizontal plane, both outside blinks."""
    session = session_from([trial], Patient("invented"), None)
    recording = session.trials[0].recording
    horizontal, _ = track(recording)
    phases = horizontal.trace.quick_phases
    found = Events(phases.onset_s, phases.offset_s, phases.amplitude_deg)
    made = trial.truth.quick_phases
    true = Events(made.onset_s, made.onset_s + made.duration_s, made.amplitude_deg)
    eyes = [recording.channels[f"eye_h_{side}"] for side in horizontal.eyes]
    lost = np.isnan(eyes).all(axis=0) | trial.truth.lid
    return _seen(found, recording.time_s, lost), _seen(true, recording.time_s, lost)


def _seen(these: Events, time_s: np.ndarray, lost: np.ndarray) -> Events:
    """The events that begin and end 0.1 s and more away from lost samples and blinks."""
    gone = np.concatenate([[0], np.cumsum(lost)])
    beside = outside.BESIDE_A_BLINK_S
    start = np.searchsorted(time_s, these.onset_s - beside)
    stop = np.searchsorted(time_s, these.offset_s + beside)
    inside = (these.onset_s > beside) & (these.offset_s < time_s[-1] - beside)
    return these.chosen(inside & (gone[stop] == gone[start]))


def _within(amplitude_deg: np.ndarray, low: float, high: float) -> np.ndarray:
    return (np.abs(amplitude_deg) >= low) & (np.abs(amplitude_deg) < high)
