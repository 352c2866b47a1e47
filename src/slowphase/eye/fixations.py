"""Fixations of a target that stands still and jumps: where the eye was while it was there."""

from collections.abc import Sequence
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
SAME_LINE = 1e-9  # spread of places beside a line, as a share: rounding
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
    sums = [running_sums(trace) for trace in seen]
    for start in edges[0].tolist():
        stops = edges[1] if hold_s is None else np.array([start + hold_s * len(steps)])
        hold = (stops - start) / len(steps)
        stops = stops[(hold >= SHORTEST_HOLD_S) & (stops <= float(at[-1]) + SLACK_S)]
        if not stops.size:
            continue
        shares = explained(steps.place_deg, at, start, (stops - start) / len(steps), sums)
        likeliest = int(np.argmax(shares))
        if shares[likeliest] > best:
            best, found = float(shares[likeliest]), (start, float(stops[likeliest]))
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


def running_sums(trace: FloatArray) -> FloatArray:
    """Sums of a trace and of its squares before each sample, in its own SD, shape (n + 1, 2)."""
    values = (trace - trace.mean()) / max(float(np.std(trace)), 1e-12)
    summed = np.cumsum(np.column_stack([values, values**2]), axis=0)
    return np.vstack([np.zeros((1, 2)), summed])


def explained(
    places: FloatArray,
    at: FloatArray,
    start_s: float,
    hold_s: FloatArray,
    sums: Sequence[FloatArray],
) -> FloatArray:
    """Share of the eyes' variance that the places explain as a straight line, shape (m,).

    The places (k, 2) stand for ``hold_s`` (m,) each from ``start_s`` on; ``at`` (n,) are the times
    of the traces, of which ``sums`` are the running sums. What is outside their time counts as not
    explained. Least squares in closed form, from the sums over each stay.
    """
    place = places - places.mean(axis=0)
    across, up = place.T
    edges = np.searchsorted(at, start_s + hold_s[:, None] * np.arange(len(place) + 1))
    count = np.diff(edges, axis=1)
    inside = np.maximum(count.sum(axis=1), 1)
    middle = count @ place / inside[:, None]
    squares = count @ np.column_stack([across**2, across * up, across * up, up**2])
    spread = squares.reshape(-1, 2, 2) - inside[:, None, None] * _outer(middle)
    inverse = np.linalg.pinv(spread, rcond=SAME_LINE, hermitian=True)
    line = whole = np.zeros(hold_s.size)
    for running in sums:
        stays = np.diff(running[edges, 0], axis=1)
        total, square = (running[edges[:, -1]] - running[edges[:, 0]]).T
        along = stays @ place - middle * total[:, None]
        line = line + np.sum((inverse @ along[:, :, None])[:, :, 0] * along, axis=1)
        whole = whole + square - total**2 / inside
    known = (inside >= 2 * len(place)) & (whole > 0)
    return np.where(known, line / np.where(known, whole, 1.0), 0.0) * inside / at.size


def _outer(rows: FloatArray) -> FloatArray:
    return rows[:, :, None] * rows[:, None, :]
