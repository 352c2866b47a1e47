"""Where a jumping target was, from its own channel or from the trial's keys."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.recording.keys import is_number
from slowphase.recording.trial import Recording, Trial

PLANES = ("h", "v")
LEAST_JUMP_DEG = 0.5  # smaller steps of a target channel are its noise or its ripple
JUMP_NOISES = 8.0  # noises that a step of a target channel must exceed
ONE_JUMP_S = 0.1  # a step of a slow screen or a filtered channel takes no longer


@dataclass(frozen=True, slots=True)
class TargetSteps:
    """A target that stands still and jumps: one row for each place.

    ``start_s`` and ``stop_s``, shape (k,), are when it was there on the recording's clock;
    ``place_deg``, shape (k, 2), is where, horizontal and vertical. ``timed`` is False where only
    the places are known, in order: both times are then NaN. ``jumped``, shape (k,), marks places
    that were reached by a jump within the recording.
    """

    start_s: FloatArray
    stop_s: FloatArray
    place_deg: FloatArray
    jumped: BoolArray
    timed: bool = True

    def __len__(self) -> int:
        return self.start_s.size


def target_steps(trial: Trial) -> TargetSteps | None:
    """The steps of a trial's target; None where neither a channel nor a key tells them.

    A target channel goes before the keys ``targets_deg``, ``hold_s`` and ``start_at_s``.
    """
    recording = trial.recording
    if recording is None or recording.time_s.size < 2:
        return None
    return _of_channels(recording) or _of_keys(trial.stimulus, recording)


def target_places(stimulus: Mapping[str, object]) -> FloatArray | None:
    """The key ``targets_deg`` as places, shape (k, 2); numbers alone are horizontal.

    None where the key is missing or no list of numbers or of pairs of numbers.
    """
    listed = stimulus.get("targets_deg")
    if not isinstance(listed, list | tuple) or not listed:
        return None
    if all(is_number(place) for place in listed):
        return np.array([[float(place), 0.0] for place in listed])
    pairs = [place for place in listed if isinstance(place, list | tuple) and len(place) == 2]
    if len(pairs) < len(listed) or not all(is_number(value) for pair in pairs for value in pair):
        return None
    return np.array(pairs, dtype=float)


def _of_channels(recording: Recording) -> TargetSteps | None:
    traces = [recording.channels.get(f"target_{plane}") for plane in PLANES]
    known = [trace for trace in traces if trace is not None and np.isfinite(trace).any()]
    if not known:
        return None
    start = np.flatnonzero(_jumps(known, recording))
    edges = np.concatenate([[0], start, [recording.time_s.size]])
    first, last = edges[:-1], edges[1:]
    places = [[_middle(trace, a, b) for trace in traces] for a, b in zip(first, last, strict=True)]
    end_s = float(recording.time_s[-1])
    steps = TargetSteps(
        start_s=recording.time_s[first],
        stop_s=np.append(recording.time_s[first[1:]], end_s),
        place_deg=np.array(places),
        jumped=np.arange(first.size) > 0,
    )
    return steps if len(np.unique(steps.place_deg, axis=0)) > 1 else None


def _jumps(traces: list[FloatArray], recording: Recording) -> BoolArray:
    """Samples at which a target has just begun to jump, shape (n,)."""
    jumping = np.zeros(recording.time_s.size, dtype=bool)
    for trace in traces:
        filled = np.interp(
            recording.time_s, recording.time_s[np.isfinite(trace)], trace[np.isfinite(trace)]
        )
        step = np.abs(np.diff(filled, prepend=filled[:1]))
        noise = 1.4826 * float(np.median(step))
        jumping |= step > max(LEAST_JUMP_DEG, JUMP_NOISES * noise)
    at = np.flatnonzero(jumping)
    again = np.diff(recording.time_s[at], prepend=-np.inf) < ONE_JUMP_S
    jumping[at[again]] = False
    return jumping


def _middle(trace: FloatArray | None, first: int, last: int) -> float:
    """The median place of a target between two jumps, to 0.01 deg; 0 in a plane without it."""
    if trace is None:
        return 0.0
    # the second half: a filtered channel creeps to its place
    part = trace[(first + last) // 2 : last]
    part = part[np.isfinite(part)]
    return round(float(np.median(part)), 2) if part.size else float("nan")


def _of_keys(stimulus: Mapping[str, object], recording: Recording) -> TargetSteps | None:
    places = target_places(stimulus)
    if places is None:
        return None
    start, hold = stimulus.get("start_at_s"), stimulus.get("hold_s")
    jumped = np.ones(len(places), dtype=bool)
    if not is_number(start) or not is_number(hold):
        unknown = np.full(len(places), np.nan)
        return TargetSteps(unknown, unknown, places, jumped, timed=False)
    return timed_steps(places, float(str(start)), float(str(hold)), float(recording.time_s[-1]))


def timed_steps(places: FloatArray, start_s: float, hold_s: float, end_s: float) -> TargetSteps:
    """Places (k, 2) of ``hold_s`` each from ``start_s`` on; those after the end are left out.

    The first place was reached by a jump if the target was seen elsewhere before; that is taken to
    be so where it is not straight ahead.
    """
    start = start_s + hold_s * np.arange(len(places))
    inside = (start < end_s) & (start + hold_s > 0.0)
    jumped = np.any(np.diff(places, axis=0, prepend=np.zeros((1, 2))) != 0.0, axis=1)
    return TargetSteps(
        np.maximum(start, 0.0)[inside],
        np.minimum(start + hold_s, end_s)[inside],
        places[inside],
        (jumped & (start > 0.0))[inside],
    )
