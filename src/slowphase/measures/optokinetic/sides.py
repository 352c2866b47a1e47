"""Scenes to the right against scenes to the left."""

from collections.abc import Sequence

import numpy as np

from slowphase.measures.interval import NOTHING, Maker, propagate, symmetric
from slowphase.measures.pooling import cautions
from slowphase.measures.prepare import number
from slowphase.measures.result import GroupResult, TrialResult, find, why_unusable
from slowphase.measures.settings import MeasureSettings

PAIRS = (("rightward", "leftward"), ("upward", "downward"))


def group_optokinetic(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """100·(R − L)/(R + L) of the gains of two scenes as fast as one another, by plane.

    The first trial of each direction takes part; sets ``response_too_small``.
    """
    trials = [trial for trial in results if trial.kind == "optokinetic"]
    groups = []
    for pair in PAIRS:
        first, second = (_first(trials, way) for way in pair)
        if first is not None and second is not None and _alike(first, second, settings):
            groups.append(_asymmetry(first, second, pair, settings))
    return tuple(groups)


def _first(trials: Sequence[TrialResult], way: str) -> TrialResult | None:
    """The first trial with a usable gain of this direction; else the first with any."""
    by_worth = (
        t for usable in (True, False) for t in trials if find(t, "gain", way, usable=usable)
    )
    return next(by_worth, None)


def _alike(one: TrialResult, other: TrialResult, settings: MeasureSettings) -> bool:
    a, b = (abs(number(trial.stimulus, "velocity_deg_s")) for trial in (one, other))
    return bool(abs(a - b) <= settings.battery.optokinetic.same_velocity * b)


def _asymmetry(
    first: TrialResult, second: TrialResult, pair: tuple[str, str], settings: MeasureSettings
) -> GroupResult:
    both = list(zip((first, second), pair, strict=True))
    gains = [find(trial, "gain", way) for trial, way in both]
    spoilt = tuple(code for trial, way in both for code in why_unusable([trial], "gain", way))
    values = np.array([float(m.value or 0.0) if m else 0.0 for m in gains])
    # half of each interval stands for its error, so that the quantile of t that made it, whatever
    # it was, goes into the interval of both
    reach = np.array([0.5 * ((m.high or 0.0) - (m.low or 0.0)) if m else 0.0 for m in gains])
    id_ = f"optokinetic-{'horizontal' if pair[0] == 'rightward' else 'vertical'}"
    make = Maker(id_)
    why = cautions([m for m in gains if m])
    if None in gains:
        measure = make("asymmetry", NOTHING, "%", definition="gains", why=spoilt)
    elif float(values.mean()) < settings.battery.optokinetic.ratio_gain_min:
        measure = make("asymmetry", NOTHING, "%", definition="gains", why=("response_too_small",))
    else:
        value, error = propagate(
            lambda g: np.array([100.0 * (g[0] - g[1]) / (g[0] + g[1])]), values, np.diag(reach**2)
        )
        found = symmetric(float(value[0]), float(error[0]), 1.0)
        measure = make("asymmetry", found, "%", definition="gains", why=why)
    return GroupResult(id_, "optokinetic", (first.id, second.id), (measure,))
