"""A trial at rest: spontaneous nystagmus, whether its waveform is one, and square-wave jerks."""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.trace import QuickPhases
from slowphase.foundation.median import median
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.conditions import cautioned
from slowphase.measures.fixating.settings import FixatingSettings
from slowphase.measures.fixating.waveform import waveform_reasons
from slowphase.measures.interval import NOTHING, Z95, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import SEEING, Prepared
from slowphase.measures.result import TrialResult
from slowphase.measures.spontaneous import measure_spontaneous
from slowphase.measures.statistics import chi_square_quantile, median_error

JERKS_MIN = 3  # fewest jerks whose size has an interval


@dataclass(frozen=True, slots=True)
class SquareWaves:
    """Square-wave jerks of one trial: onsets (s) and signed sizes (deg), shape (m,)."""

    onset_s: tuple[float, ...]
    size_deg: tuple[float, ...]


def measure_rest(prepared: Prepared) -> TrialResult:
    """A spontaneous trial, with jerks where the patient sees.

    Sets ``waveform_not_interpretable``, ``no_square_waves``.
    """
    own = prepared.settings.battery.fixating
    found = measure_spontaneous(prepared)
    if not found.measures or found.measures[0].value is None:
        return found
    found = _with_waveform(found, waveform_reasons(prepared.horizontal, own))
    if prepared.trial.vision not in SEEING or found.evidence is None:
        return found
    waves = square_waves(prepared.horizontal.trace.quick_phases, own)
    measures = jerk_measures(prepared.maker(), waves, seconds_seen(prepared))
    return replace(
        found,
        measures=(*found.measures, *measures),
        evidence=replace(found.evidence, own=waves),
    )


def seconds_seen(prepared: Prepared) -> float:
    """How long an eye was seen (s)."""
    trace = prepared.horizontal.trace
    seen = np.isfinite(trace.position_deg)
    return float(seen.sum() * median(np.diff(trace.time_s)))


def _with_waveform(found: TrialResult, why: tuple[str, ...]) -> TrialResult:
    """The trial whose waveform is none of a jerk nystagmus: nothing of it may be read."""
    if not why or found.quality is None:
        return found
    reasons = (*found.quality.why, *why)
    quality = replace(found.quality, why=reasons, grade=worst_grade(reasons))
    measures = tuple(cautioned(measure, why) for measure in found.measures)
    return replace(found, quality=quality, measures=measures, carried=None)


def square_waves(saccades: QuickPhases, settings: FixatingSettings) -> SquareWaves:
    """Pairs of saccades away and back, alike in size, each saccade in one pair at most.

    One smaller saccade may come between: the eye fixates there too.
    """
    onsets, sizes, free = [], [], 0
    for away in range(len(saccades) - 1):
        later = range(max(away + 1, free), min(away + 3, len(saccades)))
        back = next((at for at in later if _is_pair(saccades, away, at, settings)), None)
        if away >= free and back is not None:
            onsets.append(float(saccades.onset_s[away]))
            pair = saccades.amplitude_deg[away] - saccades.amplitude_deg[back]
            sizes.append(0.5 * float(pair))
            free = back + 1
    return SquareWaves(tuple(onsets), tuple(sizes))


def _is_pair(saccades: QuickPhases, away: int, back: int, settings: FixatingSettings) -> bool:
    first, second = (float(saccades.amplitude_deg[at]) for at in (away, back))
    apart = float(saccades.onset_s[back] - saccades.onset_s[away])
    small, large = sorted((abs(first), abs(second)))
    between = np.abs(saccades.amplitude_deg[away + 1 : back])
    return bool(
        first * second < 0
        and settings.apart_min_s <= apart <= settings.apart_max_s
        and small >= settings.alike * large
        and settings.jerk_min_deg <= 0.5 * (small + large) <= settings.jerk_max_deg
        and np.all(between < small)
    )


def jerk_measures(make: Maker, waves: SquareWaves, seconds: float) -> list[Measure]:
    """How many square-wave jerks a minute, and how large they are."""
    rate = rate_per_min(len(waves.onset_s), seconds)
    sizes = np.abs(waves.size_deg)
    if not sizes.size:
        none = make("square_wave_size", NOTHING, "deg", why=("no_square_waves",))
        return [make("square_wave_jerks", rate, "/min"), none]
    size = Estimate(float(np.median(sizes)))
    if sizes.size >= JERKS_MIN:
        size = symmetric(float(np.median(sizes)), median_error(sizes), t_quantile(sizes.size - 1))
    return [make("square_wave_jerks", rate, "/min"), make("square_wave_size", size, "deg")]


def rate_per_min(count: int, seconds: float) -> Estimate:
    """A rate with the interval of a Poisson count, from the chi-square distribution."""
    per_min = 60.0 / seconds
    low = chi_square_quantile(-Z95, 2.0 * count) / 2.0 if count else 0.0
    high = chi_square_quantile(Z95, 2.0 * count + 2.0) / 2.0
    return Estimate(count * per_min, low * per_min, high * per_min)
