"""Fixations of a target that stands still and jumps: where the eye was while it was there."""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.eye.noise import robust_sd
from slowphase.eye.settings import EyeSettings
from slowphase.eye.trace import USED
from slowphase.eye.track import track
from slowphase.foundation.arrays import FloatArray
from slowphase.recording.eyes import is_alive
from slowphase.recording.targets import TargetSteps, timed_steps
from slowphase.recording.trial import Recording

COARSE = 120  # steps of the first search over a recording: bounds the work on long ones
FINER = 4  # how much finer each later search is
SHORTEST_HOLD_S = 0.4  # for which a target stands at least
SLACK_S = 0.6  # by which the last stay may run over the end
USUAL_SPREAD_DEG = 10.0  # of eye positions, where nothing tells the scale: the detector needs one


@dataclass(frozen=True, slots=True)
class Fixations:
    """Where one eye was while the target was at each of k places; NaN where it was not seen.

    ``position``, shape (k, 2), is horizontal and vertical in the recording's own unit, ``spread``,
    shape (k, 2), its robust SD within the fixation; ``start_s``, ``stop_s`` and ``seconds``, shape
    (k,), are when it lasted and how much of it was slow phase.
    """

    position: FloatArray
    spread: FloatArray
    start_s: FloatArray
    stop_s: FloatArray
    seconds: FloatArray


def find_fixations(
    recording: Recording,
    side: str,
    steps: TargetSteps,
    eye: EyeSettings,
    settings: CalibrationSettings,
) -> Fixations:
    """Slow phase of one eye while each place of the target was there, as medians.

    What is within ``settle_s`` of a jump, quick phases, blinks and losses take no part. A unit
    that is not degrees is brought to about the size of degrees for the search of quick phases.
    """
    scales = [_rough_scale(recording, f"eye_{plane}_{side}") for plane in ("h", "v")]
    tracked = track(_scaled(recording, side, scales), eye=side, settings=eye)
    rows = []
    step_s = float(np.median(np.diff(recording.time_s)))
    for start, stop in zip(steps.start_s, steps.stop_s, strict=True):
        late = start + min(settings.settle_s, settings.settle_share * (stop - start))
        rows.append([_held(one, late, stop, settings) for one in tracked])
    held = np.array(rows).reshape(len(steps), 2, 5)
    factor = np.array([1.0 / scale for scale in scales])
    return Fixations(
        position=held[:, :, 0] * factor,
        spread=held[:, :, 1] * factor,
        start_s=np.fmin(held[:, 0, 2], held[:, 1, 2]),
        stop_s=np.fmax(held[:, 0, 3], held[:, 1, 3]),
        seconds=np.fmax(held[:, 0, 4], held[:, 1, 4]) * step_s,
    )


def _rough_scale(recording: Recording, role: str) -> float:
    """About how many degrees the unit of a channel is; 1 for channels in degrees."""
    if role not in recording.raw_units or role not in recording.channels:
        return 1.0
    trace = recording.channels[role]
    spread = float(np.subtract(*np.nanpercentile(trace, [95, 5]))) if is_alive(trace) else 0.0
    return 2 * USUAL_SPREAD_DEG / spread if spread > 0 else 1.0


def _scaled(recording: Recording, side: str, scales: list[float]) -> Recording:
    roles = [f"eye_{plane}_{side}" for plane in ("h", "v")]
    channels = {
        role: scale * recording.channels[role]
        for role, scale in zip(roles, scales, strict=True)
        if role in recording.channels
    }
    return replace(recording, channels=channels, raw_units={})


def _held(
    tracked: object, start_s: float, stop_s: float, settings: CalibrationSettings
) -> tuple[float, float, float, float, float]:
    """Median, spread, first and last time, and number of samples of the slow phase in a window."""
    nothing = (np.nan,) * 5
    trace = getattr(tracked, "trace", None)
    if trace is None:
        return nothing
    first, last = np.searchsorted(trace.time_s, [start_s, stop_s])
    index = first + np.flatnonzero(trace.use[first:last] == USED)
    step_s = float(np.median(np.diff(trace.time_s)))
    if index.size * step_s < settings.fixation_min_s:
        return nothing
    position = trace.position_deg[index]
    middle = float(np.median(position))
    return (
        middle,
        robust_sd(position),
        float(trace.time_s[index[0]]),
        float(trace.time_s[index[-1]]),
        float(index.size),
    )


def with_times(
    steps: TargetSteps, recording: Recording, hold_s: float | None, settings: CalibrationSettings
) -> TargetSteps | None:
    """The steps with the times at which the eyes follow them best, where only places are known.

    Every start and, unless it is known, every length of stay that fits the recording is tried on a
    grid, a finer one near the best; the pair is taken under which places of the target explain most
    of the eyes' variance.
    None where no eye is there or none of them explains anything. The eye's own latency is in the
    times found.
    """
    eyes = [trace for trace in _horizontal_and_vertical(recording) if trace is not None]
    if not eyes:
        return None
    length_s, fine_s = float(recording.time_s[-1]), settings.timing_grid_s
    at = np.arange(0.0, length_s, fine_s)
    seen = [_on_grid(recording.time_s, trace, at) for trace in eyes]
    step_s = max(fine_s, length_s / COARSE)
    edges = np.arange(0.0, length_s + step_s, step_s)
    found = _best_times(steps, at, seen, hold_s, (edges, edges))
    while found is not None and step_s > fine_s:
        step_s = max(step_s / FINER, fine_s)
        near = step_s * np.arange(-FINER, FINER + 1)
        around = np.asarray(found[0] + near), np.asarray(found[1] + near)
        found = _best_times(steps, at, seen, hold_s, around) or found
    if found is None:
        return None
    start, stop = found
    return timed_steps(steps.place_deg, start, (stop - start) / len(steps), length_s)


def _best_times(
    steps: TargetSteps,
    at: FloatArray,
    seen: list[FloatArray],
    hold_s: float | None,
    edges: tuple[FloatArray, FloatArray],
) -> tuple[float, float] | None:
    """When the first place begins and the last ends, so that most is explained; None if nothing.

    ``edges`` are the starts and the ends to try; a known ``hold_s`` gives the end of each start.
    """
    best, found = 0.0, None
    for start in edges[0].tolist():
        stops = edges[1].tolist() if hold_s is None else [start + hold_s * len(steps)]
        for stop in stops:
            hold = (stop - start) / len(steps)
            if hold < SHORTEST_HOLD_S or stop > float(at[-1]) + SLACK_S:
                continue
            share = _explained(steps.place_deg, at, start, hold, seen)
            if share > best:
                best, found = share, (start, stop)
    return found


def _horizontal_and_vertical(recording: Recording) -> list[FloatArray | None]:
    """One live trace of each plane."""
    traces: list[FloatArray | None] = []
    for plane in ("h", "v"):
        roles = [f"eye_{plane}_{side}" for side in ("right", "left")]
        alive = [recording.channels[r] for r in roles if r in recording.channels]
        traces.append(next((trace for trace in alive if is_alive(trace)), None))
    return traces


def _on_grid(time_s: FloatArray, trace: FloatArray, at: FloatArray) -> FloatArray:
    known = np.isfinite(trace)
    return np.interp(at, time_s[known], trace[known])


def _explained(
    places: FloatArray, at: FloatArray, start_s: float, hold_s: float, seen: list[FloatArray]
) -> float:
    """Share of the eyes' variance that the places explain as a straight line, within their time."""
    index = np.floor((at - start_s) / hold_s).astype(np.int64)
    inside = (index >= 0) & (index < len(places))
    if inside.sum() < 2 * len(places):
        return 0.0
    columns = np.column_stack([np.ones(int(inside.sum())), places[index[inside]]])
    left = whole = 0.0
    for trace in seen:
        values = trace[inside] / max(float(np.std(trace)), 1e-12)
        fitted = columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
        left += float(np.sum((values - fitted) ** 2))
        whole += float(np.sum((values - values.mean()) ** 2))
    return (1.0 - left / whole) * float(inside.mean()) if whole > 0 else 0.0
