"""Quick phases, saccades and other jumps of the eye, found against the recording's own noise.

The trace is differentiated with a Gaussian whose width follows the noise, a slow baseline is
taken away, and what stands out from the residual's own scatter is a quick phase. Baseline,
scatter and mask are refined in a few rounds. There is no fixed velocity threshold: an eye that
is recorded well shows quick phases of a quarter of a degree, a poor recording only large ones.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from slowphase.eye.noise import blockwise_sd, position_noise_deg
from slowphase.eye.runs import mask_of, runs_of, samples_of
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray

BASELINE_HZ = 100.0  # grid of the baseline, far above what it follows
WINDOWS_AT_ONCE = 4096  # of a running median: bounds the memory
NEIGHBOURS = 8  # windows of a running median whose common values are sorted once


@dataclass(frozen=True, slots=True)
class Jumps:
    """Quick phases as sample ranges: ``start`` to ``stop`` (exclusive), shape (m,) each.

    ``velocity_deg_s`` (n,) is the filtered eye velocity in which they were found.
    """

    start: IntArray
    stop: IntArray
    amplitude_deg: FloatArray
    peak_velocity_deg_s: FloatArray
    velocity_deg_s: FloatArray


def find_jumps(
    position_deg: FloatArray, lost: BoolArray, sampling_hz: float, settings: EyeSettings
) -> Jumps:
    """Quick phases in one plane of eye position.

    ``position_deg`` has shape (n,), finite everywhere (losses bridged); ``lost`` marks samples
    that were not recorded. Amplitude and peak velocity are relative to the slow phase.
    """
    width = filter_width(position_noise_deg(position_deg[~lost]), sampling_hz, settings)
    velocity = differentiate(position_deg, width) * sampling_hz
    mask = lost.copy()
    for round_ in range(settings.passes):
        baseline = slow_baseline(velocity, mask, sampling_hz, settings, first=round_ == 0)
        residual = velocity - baseline
        scale = blockwise_sd(residual, ~mask, sampling_hz, settings.scale_block_s)
        start, stop = outstanding(residual, scale, settings)
        mask = lost | mask_of(start - 1, stop + 1, mask.size)
    start, stop = tighten(residual, start, stop, settings.edge_share)
    start, stop = merge(start, stop, residual, sampling_hz, settings)
    path = travelled(residual, start, stop) / sampling_hz
    keep = path >= settings.smallest_deg
    amplitude, peak = sizes(start[keep], stop[keep], residual, sampling_hz)
    return Jumps(start[keep], stop[keep], amplitude, peak, velocity)


def travelled(velocity: FloatArray, start: IntArray, stop: IntArray) -> FloatArray:
    """Length of the way gone in each range, there and back, in units of velocity times samples."""
    sums = np.concatenate([[0.0], np.cumsum(np.abs(velocity))])
    return np.asarray(sums[stop] - sums[start])


def filter_width(noise_deg: float, sampling_hz: float, settings: EyeSettings) -> float:
    """SD of the differentiating Gaussian, in samples.

    White noise of SD s gives a velocity noise of s / sqrt(4 sqrt(pi) w^3 f) behind a Gaussian
    derivative of SD w (s) at f samples per second; w is chosen to reach ``filter_noise_deg_s``.
    """
    power = (noise_deg / settings.filter_noise_deg_s) ** 2
    ideal_s = (power / (4 * math.sqrt(math.pi) * sampling_hz)) ** (1 / 3)
    width_s = min(max(ideal_s, settings.filter_min_s), settings.filter_max_s)
    return max(width_s * sampling_hz, 0.6)


def differentiate(values: FloatArray, width: float) -> FloatArray:
    """First difference per sample through a Gaussian of SD ``width`` samples, shape (n,).

    Beyond its ends the trace goes on as the straight line through its last samples.
    """
    reach = max(1, int(np.ceil(3 * width)))
    lag = np.arange(-reach, reach + 1)
    kernel = lag * np.exp(-0.5 * (lag / width) ** 2)
    kernel = kernel / np.sum(kernel * lag)
    before = extrapolated(values[: 2 * reach + 2], -lag[:reach:-1])
    after = extrapolated(values[: -2 * reach - 3 : -1], -lag[:reach:-1])[::-1]
    return np.convolve(np.concatenate([before, values, after]), kernel[::-1], mode="valid")


def extrapolated(values: FloatArray, at: IntArray) -> FloatArray:
    """The straight line through the first values, at index ``at`` before them."""
    index = np.arange(values.size)
    middle = index.mean()
    slope = np.sum((index - middle) * values) / max(float(np.sum((index - middle) ** 2)), 1.0)
    return values.mean() + slope * (at - middle)


def slow_baseline(
    velocity: FloatArray,
    mask: BoolArray,
    sampling_hz: float,
    settings: EyeSettings,
    *,
    first: bool,
) -> FloatArray:
    """Slow-phase velocity under the quick phases, shape (n,), same unit as ``velocity``.

    In the first round a running median, later a local line through the unmasked samples. Both
    work on block means at about ``BASELINE_HZ``.
    """
    block = max(1, round(sampling_hz / BASELINE_HZ))
    mean, count = block_means(velocity, ~mask, block)
    rate = sampling_hz / block
    known = count > 0
    if not known.any():
        return np.zeros_like(velocity)
    mean = np.interp(np.arange(mean.size), np.flatnonzero(known), mean[known])
    if first:
        slow = running_median(mean, round(settings.baseline_s * rate))
    else:
        slow = local_line(mean, count, settings.smooth_s * rate)
    centres = (np.arange(slow.size) + 0.5) * block - 0.5
    return np.interp(np.arange(velocity.size), centres, slow)


def block_means(values: FloatArray, keep: BoolArray, block: int) -> tuple[FloatArray, FloatArray]:
    """Mean and number of the kept values in consecutive blocks, shape (ceil(n/block),)."""
    count = _block_sums(keep, block)
    total = _block_sums(np.where(keep, values, 0.0), block)
    return total / np.maximum(count, 1.0), count


def _block_sums(values: FloatArray | BoolArray, block: int) -> FloatArray:
    """Sums over consecutive blocks, shape (ceil(n/block),): a few strided sums are soon made."""
    total = values[::block].astype(float)
    for place in range(1, block):
        part = values[place::block]
        total[: part.size] += part
    return total


def running_median(values: FloatArray, window: int) -> FloatArray:
    """Centred running median over ``window`` values (made odd), fewer at the edges, shape (n,).

    Of some fifty values, to sort anew is faster than to keep a sorted list up to date.
    """
    half = max(1, window // 2)
    slow = np.empty(values.size)
    for first in range(0, values.size - 2 * half, WINDOWS_AT_ONCE):
        part = values[first : first + WINDOWS_AT_ONCE + 2 * half]
        slow[first + half : first + part.size - half] = _window_medians(part, half)
    edge = min(half, values.size)
    slow[:edge] = _growing_medians(values[: half + edge], half + 1, edge)
    slow[values.size - edge :] = _growing_medians(values[::-1][: half + edge], half + 1, edge)[::-1]
    return slow


def _window_medians(values: FloatArray, half: int) -> FloatArray:
    """Medians of all whole windows of 2 half + 1 values, shape (n − 2 half,).

    What neighbouring windows have in common is sorted once. Of it, only as many values as there
    are neighbours can be a window's middle, which is then the median of these and of the values
    that are not common: so many lie below them as above.
    """
    size, few = 2 * half + 1, min(NEIGHBOURS, half + 1)
    count = values.size - 2 * half
    rest = -count % few
    padded = np.concatenate([values, np.zeros(rest)]) if rest else values
    groups = sliding_window_view(padded, size + few - 1)[::few]
    middle = np.sort(groups[:, few - 1 : size], axis=1)[:, half - few + 1 : half + 1]
    beside = np.concatenate([groups[:, : few - 1], groups[:, size:]], axis=1)
    told = np.empty((len(groups), few, 2 * few - 1))
    told[:, :, :few] = middle[:, None, :]
    told[:, :, few:] = sliding_window_view(beside, few - 1, axis=1)
    told.partition(few - 1, axis=2)
    return told[:, :, few - 1].ravel()[:count]


def _growing_medians(values: FloatArray, first: int, count: int) -> FloatArray:
    """Medians of the first ``first`` values, of one more, and so on, ``count`` times.

    Values that do not count yet are put last, as infinite, and all rows sorted at once.
    """
    sizes = np.minimum(first + np.arange(count), values.size)
    rows = np.where(np.arange(values.size) < sizes[:, None], values, np.inf)
    rows.sort(axis=1)
    at = np.arange(count)
    return 0.5 * (rows[at, (sizes - 1) // 2] + rows[at, sizes // 2])


def local_line(values: FloatArray, weight: FloatArray, width: float) -> FloatArray:
    """Value at each point of a weighted straight line through its Gaussian neighbourhood.

    Local linear regression (Fan, Gijbels 1996) on an even grid: ``width`` is the SD of the
    neighbourhood in grid steps. Shapes (n,).
    """
    reach = int(np.ceil(4 * width))
    lag = np.arange(-reach, reach + 1)
    kernel = np.exp(-0.5 * (lag / width) ** 2)
    weight = weight + 1e-9 * max(float(weight.max()), 1.0)

    def moment(order: int, data: FloatArray) -> FloatArray:
        padded = np.pad(data, reach)
        return np.convolve(padded, (kernel * (-lag) ** order), mode="valid")

    s0, s1, s2 = (moment(k, weight) for k in range(3))
    y0, y1 = (moment(k, weight * values) for k in range(2))
    determinant = s0 * s2 - s1**2
    flat = determinant <= 1e-6 * s0 * s2
    line = (s2 * y0 - s1 * y1) / np.where(flat, 1.0, determinant)
    return np.where(flat, y0 / s0, line)


def outstanding(
    residual: FloatArray, scale: FloatArray, settings: EyeSettings
) -> tuple[IntArray, IntArray]:
    """Ranges where the residual velocity stands out, widened to their feet."""
    start, stop = [], []
    for sign in (1.0, -1.0):
        signed = sign * residual
        a, b = runs_of(signed > settings.edge_sd * scale)
        if a.size == 0:
            continue
        ranges = np.column_stack([a, b]).ravel()
        peak = np.maximum.reduceat(np.append(signed / scale, 0.0), ranges)[::2]
        keep = peak > settings.onset_sd
        start.append(a[keep])
        stop.append(b[keep])
    if not start:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    starts, stops = np.concatenate(start), np.concatenate(stop)
    order = np.argsort(starts, kind="stable")
    return starts[order], stops[order]


def tighten(
    residual: FloatArray, start: IntArray, stop: IntArray, share: float
) -> tuple[IntArray, IntArray]:
    """Ranges cut to where the velocity is more than ``share`` of their own peak."""
    if start.size == 0:
        return start, stop
    number, index, first = samples_of(start, stop)
    size = np.abs(residual[index])
    peak = np.maximum.reduceat(size, first)[number]
    top = np.minimum.reduceat(np.where(size == peak, index, residual.size), first)[number]
    low = size < share * peak
    after_low = np.where(low & (index < top), index + 1, start[number])
    until_low = np.where(low & (index > top), index, stop[number])
    return np.maximum.reduceat(after_low, first), np.minimum.reduceat(until_low, first)


def merge(
    start: IntArray,
    stop: IntArray,
    residual: FloatArray,
    sampling_hz: float,
    settings: EyeSettings,
) -> tuple[IntArray, IntArray]:
    """Join fragments of one quick phase, and the settling movement after it."""
    if start.size == 0:
        return start, stop
    gap = settings.merge_s * sampling_hz
    settling = settings.settling_s * sampling_hz
    sums = np.concatenate([[0.0], np.cumsum(residual)])
    out = [[int(start[0]), int(stop[0])]]
    size = abs(sums[stop[0]] - sums[start[0]])
    for a, b in zip(start[1:].tolist(), stop[1:].tolist(), strict=True):
        own = abs(sums[b] - sums[a])
        wait = a - out[-1][1]
        if wait <= gap or (wait <= settling and own < settings.settling_share * size):
            out[-1][1] = max(b, out[-1][1])
            size = max(size, own)
        else:
            out.append([a, b])
            size = own
    joined = np.array(out, dtype=np.int64)
    return joined[:, 0], joined[:, 1]


def sizes(
    start: IntArray, stop: IntArray, residual: FloatArray, sampling_hz: float
) -> tuple[FloatArray, FloatArray]:
    """Amplitude and peak velocity of each range, relative to the slow phase."""
    sums: FloatArray = np.concatenate([[0.0], np.cumsum(residual / sampling_hz)])
    ranges, padded = np.column_stack([start, stop]).ravel(), np.append(residual, 0.0)
    high, low = (most.reduceat(padded, ranges)[::2] for most in (np.maximum, np.minimum))
    return sums[stop] - sums[start], np.where(high >= -low, high, low)
