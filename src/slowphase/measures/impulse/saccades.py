"""Saccades during and after an impulse, told from the slow response to it.

The slow response is fitted to eye velocity outside saccades, and what stands out of it is one:

    slow = a·h + b·h·|h|/peak + c·h³/peak²      h head velocity, late by the lag

A response that saturates (of one labyrinth, by inhibition) bends in h; nothing else is left in it.

The first round takes one gain, the weighted median of eye over head (a saccade fills less than half
of the window), and only what stands out far is a saccade; later rounds fit all three terms without
the saccades found so far, and look for smaller ones. Under a
saccade the slow response is the fit plus a straight line between what is left on either side.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.runs import mask_of, runs_of
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.measures.impulse.settings import ImpulseSettings

STRICTER = (3.5, 2.0, 1.0, 1.0)  # on the least peak, by round: a rough fit's errors are no saccades
RIDGE = 0.01  # weight of the two further terms against the first: a dozen samples must do
BESIDE_S = 0.02  # beside a saccade: the mean of so long starts its line
DEEP = 0.75  # a valley below this share of the lower of two peaks parts two saccades


@dataclass(frozen=True, slots=True)
class Saccade:
    """One saccade near an impulse: times in s since the head's start, size in deg, peak in deg/s.

    Size and peak are relative to the slow response and positive where they mend the gaze: against
    the head. ``early`` means begun before the head was back at rest (covert; else overt).
    """

    onset_s: float
    offset_s: float
    amplitude_deg: float
    peak_deg_s: float
    early: bool
    corrects: bool


@dataclass(frozen=True, slots=True)
class Response:
    """Head and eye around one impulse; arrays of shape (n,), time in s since the head's start.

    Velocities are in deg/s, positive the way of the head for ``head`` and against it for ``eye``
    and ``slow`` (the eye with its saccades taken out; ``fit`` is its model). ``fast`` marks
    saccades, ``hidden`` samples without an eye. ``stop_s`` is the head's rest.
    """

    time_s: FloatArray
    head: FloatArray
    late_head: FloatArray
    eye: FloatArray
    slow: FloatArray
    fit: FloatArray
    fast: BoolArray
    hidden: BoolArray
    stop_s: float
    saccades: tuple[Saccade, ...]


def separated(
    time_s: FloatArray, head: FloatArray, late_head: FloatArray, eye: FloatArray,
    hidden: BoolArray, stop_s: float, noise_deg_s: float, settings: ImpulseSettings,
) -> Response:  # fmt: skip
    """The response with slow phase and saccades told apart; signs as in `Response`."""
    rest, ranges = eye, _none()
    beside = max(1, round(BESIDE_S / _step(time_s)))
    moving = (time_s > -0.03) & (time_s < stop_s + 0.10) & ~hidden
    fit = weighted_median_gain(eye[moving], late_head[moving]) * late_head
    for round_, factor in enumerate(STRICTER):
        if round_ > 0:
            fit = _fitted(late_head, eye, moving & ~_wide(ranges, rest, time_s, settings))
        rest = eye - fit
        fast = _wide(ranges, rest, time_s, settings)
        clear = rest - bridged(rest, fast | hidden, beside)
        ranges = outstanding(clear, time_s, noise_deg_s, settings, factor=factor)
    fast = _wide(ranges, rest, time_s, settings)
    line = bridged(rest, fast | hidden, beside)
    ranges = outstanding(rest - line, time_s, noise_deg_s, settings)
    return Response(
        time_s=time_s,
        head=head,
        late_head=late_head,
        eye=eye,
        slow=np.where(fast | hidden, fit + line, eye),
        fit=fit,
        fast=fast,
        hidden=hidden,
        stop_s=stop_s,
        saccades=_saccades(rest - line, ranges, time_s, stop_s, settings),
    )


def weighted_median_gain(eye: FloatArray, head: FloatArray) -> float:
    """Median of eye/head, each sample weighed by the head's speed: half of them may be saccade."""
    known = np.abs(head) > 0
    if not known.any():
        return 0.0
    ratio, weight = eye[known] / head[known], np.abs(head[known])
    order = np.argsort(ratio, kind="stable")
    total = np.cumsum(weight[order])
    return float(ratio[order][np.searchsorted(total, 0.5 * total[-1])])


def _none() -> tuple[IntArray, IntArray]:
    return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)


def _step(time_s: FloatArray) -> float:
    return float(time_s[1] - time_s[0])


def _wide(
    ranges: tuple[IntArray, IntArray], rest: FloatArray, time_s: FloatArray,
    settings: ImpulseSettings,
) -> BoolArray:  # fmt: skip
    """Samples of saccades, those beside that the filter spoils, and the eye's settling after."""
    step_s = _step(time_s)
    path = np.concatenate([[0.0], np.cumsum(np.abs(rest))]) * step_s
    size_deg = path[ranges[1]] - path[ranges[0]]
    settle_s = settings.saccade_settle_s + settings.saccade_settle_s_per_deg * size_deg
    after_s = settings.saccade_margin_s + np.minimum(settle_s, settings.saccade_settle_max_s)
    before = int(np.ceil(settings.saccade_margin_s / step_s))
    after = np.ceil(after_s / step_s).astype(np.int64)
    return mask_of(ranges[0] - before, ranges[1] + after, rest.size)


def _fitted(head: FloatArray, eye: FloatArray, use: BoolArray) -> FloatArray:
    """The three terms of the slow response by ridge regression on the samples in use."""
    peak = max(float(np.max(np.abs(head))), 1.0)
    terms = np.column_stack([head, head * np.abs(head) / peak, head**3 / peak**2])
    part = terms[use]
    penalty = RIDGE * np.diag([0.0, 1.0, 1.0]) * float(np.sum(part[:, 0] ** 2))
    normal = part.T @ part + penalty + 1e-9 * peak**2 * np.eye(3)
    return np.asarray(terms @ np.linalg.solve(normal, part.T @ eye[use]))


def bridged(rest: FloatArray, mask: BoolArray, beside: int) -> FloatArray:
    """Lines across the masked samples between the means of ``beside`` others; 0 elsewhere.

    Where none is seen on one side the line ends at 0: there is no response to carry on.
    """
    line = np.zeros(rest.size)
    for start, stop in zip(*runs_of(mask), strict=True):
        left, right = slice(max(start - beside, 0), start), slice(stop, stop + beside)
        ends = [_mean(rest[side], ~mask[side]) for side in (left, right)]
        line[start:stop] = np.linspace(ends[0], ends[1], stop - start + 2)[1:-1]
    return line


def _mean(values: FloatArray, seen: BoolArray) -> float:
    return float(values[seen].mean()) if seen.any() else 0.0


def outstanding(
    rest: FloatArray, time_s: FloatArray, noise_deg_s: float, settings: ImpulseSettings,
    *, factor: float = 1.0,
) -> tuple[IntArray, IntArray]:  # fmt: skip
    """Sample ranges in which velocity stands out of the slow response as a saccade does."""
    least = factor * max(settings.saccade_peak_deg_s, settings.saccade_sd * noise_deg_s)
    found: list[tuple[int, int]] = []
    edge = max(settings.saccade_edge_deg_s, settings.saccade_edge_sd * noise_deg_s)
    for sign in (1.0, -1.0):
        signed = sign * rest
        for start, stop in zip(*runs_of(signed > edge), strict=True):
            for first, last in _parted(signed, int(start), int(stop)):
                if _is_saccade(signed[first:last], _step(time_s), least, settings):
                    found.append((first, last))
    ranges = np.array(sorted(found), dtype=np.int64).reshape(-1, 2)
    return ranges[:, 0], ranges[:, 1]


def _parted(speed: FloatArray, start: int, stop: int) -> list[tuple[int, int]]:
    """A range cut at its deepest valley where that parts two saccades."""
    inside = speed[start:stop]
    ahead = np.maximum.accumulate(inside)
    behind = np.maximum.accumulate(inside[::-1])[::-1]
    depth = inside / np.minimum(ahead, behind)
    valley = int(np.argmin(depth))
    if depth[valley] > DEEP or not 0 < valley < inside.size - 1:
        return [(start, stop)]
    cut = start + valley
    return [*_parted(speed, start, cut), *_parted(speed, cut, stop)]


def _is_saccade(
    speed: FloatArray, step_s: float, least_deg_s: float, settings: ImpulseSettings
) -> bool:
    return bool(
        speed.max() > least_deg_s
        and speed.size * step_s < settings.saccade_longest_s
        and speed.sum() * step_s > settings.saccade_removed_deg
    )


def _saccades(
    rest: FloatArray, ranges: tuple[IntArray, IntArray], time_s: FloatArray, stop_s: float,
    settings: ImpulseSettings,
) -> tuple[Saccade, ...]:  # fmt: skip
    made = (_saccade(rest, time_s, a, b, stop_s, settings) for a, b in zip(*ranges, strict=True))
    return tuple(made)


def _saccade(
    rest: FloatArray, time_s: FloatArray, start: int, stop: int, stop_s: float,
    settings: ImpulseSettings,
) -> Saccade:  # fmt: skip
    """One saccade, its edges where its speed passes a share of its peak, between samples."""
    part = rest[start:stop]
    top = int(start + np.argmax(np.abs(part)))
    way = np.sign(rest[top])
    level = settings.saccade_edge_share * abs(rest[top])
    onset_s = _crossing(way * rest, time_s, top, -1, level)
    offset_s = _crossing(way * rest, time_s, top, 1, level)
    amplitude = float(part.sum()) * _step(time_s)
    return Saccade(
        onset_s,
        offset_s,
        amplitude,
        float(rest[top]),
        early=onset_s < stop_s,
        corrects=amplitude > settings.saccade_smallest_deg and onset_s >= settings.saccade_first_s,
    )


def _crossing(speed: FloatArray, time_s: FloatArray, top: int, step: int, level: float) -> float:
    """Where the speed first falls below a level on one side of its top (s), linear between."""
    index = top
    while 0 < index < speed.size - 1 and speed[index] > level:
        index += step
    inner, outer = speed[min(index - step, speed.size - 1)], speed[index]
    if outer > level or inner <= outer:
        return float(time_s[index])
    share = (inner - level) / (inner - outer)
    return float(time_s[index] - step * (1.0 - share) * _step(time_s))
