"""Saccades that somebody else has labelled, and how well a detector finds them."""

from dataclasses import dataclass

import numpy as np
from outside_data import outside

from slowphase.eye.runs import mask_of, runs_of
from slowphase.eye.settings import EyeSettings
from slowphase.eye.track import track
from slowphase.recording.trial import Recording

SUBJECTS = ("S1", "S4", "S6")
SACCADE, OSCILLATION, BLINK = 2, 3, 5
BESIDE_A_BLINK_S = 0.1
PLANES = ("eye_h_right", "eye_v_right")


@dataclass(frozen=True)
class Events:
    """Ranges of time (s) with the size of each (deg), shape (m,) each."""

    onset_s: np.ndarray
    offset_s: np.ndarray
    amplitude_deg: np.ndarray

    def __len__(self):
        return self.onset_s.size

    def chosen(self, keep):
        return Events(self.onset_s[keep], self.offset_s[keep], self.amplitude_deg[keep])


@dataclass(frozen=True)
class Labelled:
    """One subject's gaze and the saccades in it; ``beside_blink`` marks samples to leave out."""

    recording: Recording
    saccades: Events
    beside_blink: np.ndarray

    def away_from_blinks(self, events):
        """The events of which no sample is within 0.1 s of a blink.

        Neither expert nor detector can know what the eye does behind the lid.
        """
        blinking = np.concatenate([[0], np.cumsum(self.beside_blink)])
        start, stop = (
            np.searchsorted(self.recording.time_s, at) for at in (events.onset_s, events.offset_s)
        )
        return events.chosen(blinking[stop] == blinking[start])


def labelled(subject):
    """Human gaze at 1000 Hz, labelled by one expert.

    Zemblys, Niehorster, Komogortsev, Holmqvist 2018, Behav Res Methods 50:160-181 (MIT licence).
    A saccade's size is the way from its onset to where the eye rests, after the oscillation that
    the expert marked behind it: what overshoots and swings back is no part of it.
    """
    table = np.load(outside("labelled_saccades") / f"{subject}.npy")
    time = table["t"] - table["t"][0]
    planes = [table[name].astype(float) for name in ("x", "y")]
    label = table["evt"]
    lost = ~table["status"] | (label == BLINK) | ~np.isfinite(planes[0] + planes[1])
    seen = {name: np.where(lost, np.nan, p) for name, p in zip(PLANES, planes, strict=True)}
    start, stop = runs_of(label == SACCADE)
    last = np.minimum(stop, time.size - 1)
    at_rest = after_the_oscillation(last, label == OSCILLATION)
    size = np.hypot(*(plane[at_rest] - plane[start] for plane in planes))
    blink_start, blink_stop = runs_of(label == BLINK)
    rate = 1.0 / float(np.mean(np.diff(time)))
    margin = round(BESIDE_A_BLINK_S * rate)
    beside = mask_of(blink_start - margin, blink_stop + margin, time.size)
    record = Labelled(Recording(time, rate, seen), Events(time[start], time[last], size), beside)
    return Labelled(record.recording, record.away_from_blinks(record.saccades), beside)


def after_the_oscillation(stop, oscillating):
    """The first sample from each of ``stop`` on that is not in an oscillation, shape of it."""
    calm = np.flatnonzero(~oscillating)
    return calm[np.minimum(np.searchsorted(calm, stop), calm.size - 1)]


def detected(record, settings=None):
    """What the eye layer calls a quick phase in either plane, overlapping ones as one."""
    tracked = track(record.recording, settings=settings or EyeSettings())
    phases = [plane.trace.quick_phases for plane in tracked if plane]
    parts = sorted(
        (on, off, size, plane)
        for plane, found in enumerate(phases)
        for on, off, size in zip(found.onset_s, found.offset_s, found.amplitude_deg, strict=True)
    )
    joined = []
    for on, off, size, plane in parts:
        if not joined or on > joined[-1][1]:
            joined.append([on, off, np.zeros(2)])
        joined[-1][1] = max(joined[-1][1], off)
        joined[-1][2][plane] += size
    return record.away_from_blinks(
        Events(
            np.array([event[0] for event in joined]),
            np.array([event[1] for event in joined]),
            np.array([np.hypot(*event[2]) for event in joined]),
        )
    )


def matched(found, true):
    """Index pairs (found, true), each event in at most one pair, largest overlaps first."""
    overlap = np.minimum(found.offset_s[:, None], true.offset_s) - np.maximum(
        found.onset_s[:, None], true.onset_s
    )
    pairs, taken_found, taken_true = [], set(), set()
    candidates = np.argwhere(overlap > 0)
    order = np.argsort(-overlap[tuple(candidates.T)], kind="stable")
    for i, j in candidates[order].tolist():
        if i not in taken_found and j not in taken_true:
            pairs.append((i, j))
            taken_found.add(i)
            taken_true.add(j)
    return np.array(pairs, dtype=np.int64).reshape(-1, 2)


@dataclass(frozen=True)
class Score:
    """Events found and true, how many agree, and the errors of those that do."""

    found: int
    true: int
    agreeing: int
    onset_s: np.ndarray
    amplitude_deg: np.ndarray
    amplitude_share: np.ndarray

    @property
    def precision(self):
        return self.agreeing / max(self.found, 1)

    @property
    def recall(self):
        return self.agreeing / max(self.true, 1)

    @property
    def f1(self):
        return 2 * self.agreeing / max(self.found + self.true, 1)


def scored(found, true):
    """The score of found against true events."""
    pairs = matched(found, true)
    ours, theirs = found.chosen(pairs[:, 0]), true.chosen(pairs[:, 1])
    error = np.abs(ours.amplitude_deg) - np.abs(theirs.amplitude_deg)
    return Score(
        len(found),
        len(true),
        len(pairs),
        ours.onset_s - theirs.onset_s,
        error,
        error / np.maximum(np.abs(theirs.amplitude_deg), 1e-9),
    )
