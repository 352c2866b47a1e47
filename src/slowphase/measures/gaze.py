"""Eccentric gaze: slow-phase velocity in the time that a position was held, and the rebound."""

from dataclasses import replace

import numpy as np

from slowphase.eye.track import Tracked
from slowphase.measures.gaze_hold import during, held_s, mean_gaze, place_of, returned_s
from slowphase.measures.gaze_settings import GazeSettings
from slowphase.measures.interval import Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, missing, result
from slowphase.measures.reflex import data_of
from slowphase.measures.regression import no_prior, robust_fit
from slowphase.measures.result import TrialResult
from slowphase.measures.spontaneous import no_spontaneous, plane_measures

NAMES = [("gaze", "deg"), ("held_time", "s")]


def measure_gaze(prepared: Prepared) -> TrialResult:
    """Velocity, beats and constancy of every recorded plane while the position was held, where
    the eye was, and, after a return to the centre, the rebound.

    Sets ``position_not_held``, ``too_short``, ``direction_changes``, ``rebound``,
    ``not_recorded_after``.
    """
    settings = prepared.settings.battery.gaze
    make = prepared.maker()
    span = held_s(prepared, place_of(prepared.trial.stimulus), settings)
    rebounds = rebound_measures(make, prepared, settings)
    if span is None:
        return result(prepared, [*no_gaze(make, "position_not_held"), *rebounds])
    horizontal = during(prepared.horizontal, span)
    if len(horizontal.pieces) < prepared.settings.pieces_min:
        return result(prepared, [*no_gaze(make, "too_short"), *rebounds])
    measures, fit = plane_measures(make, horizontal, "horizontal", prepared.settings)
    measures += other_planes(make, prepared, span)
    measures += gaze_measures(make, prepared, span)
    time_s = prepared.recording.time_s
    inside = (time_s >= span[0]) & (time_s <= span[1])
    line = np.where(inside, float(fit.parameters[0]), np.nan)
    return result(prepared, [*measures, *rebounds], fit_deg_s=line)


def no_gaze(make: Maker, why: str) -> list[Measure]:
    """The measures of a gaze trial that shows nothing, each missing for one reason."""
    return [*no_spontaneous(make, why), *missing(make, NAMES, why)]


def other_planes(make: Maker, prepared: Prepared, span: tuple[float, float]) -> list[Measure]:
    """The measures of the vertical and torsional plane, where they were recorded."""
    planes = (("vertical", prepared.vertical), ("torsional", prepared.torsional))
    found: list[Measure] = []
    for of, tracked in planes:
        held = during(tracked, span) if tracked else None
        if held is not None and len(held.pieces) >= prepared.settings.pieces_min:
            found += plane_measures(make, held, of, prepared.settings)[0]
    return found


def gaze_measures(make: Maker, prepared: Prepared, span: tuple[float, float]) -> list[Measure]:
    """Where the eye was held (deg), and for how long (s)."""
    lasted = span[1] - span[0]
    measures = [where_held(make, prepared.horizontal, None, span)]
    vertical = prepared.vertical
    if vertical is not None and len(during(vertical, span).pieces):
        measures.append(where_held(make, vertical, "vertical", span))
    return [*measures, make("held_time", Estimate(lasted, lasted, lasted), "s")]


def where_held(make: Maker, tracked: Tracked, of: str | None, span: tuple[float, float]) -> Measure:
    """Mean gaze of one plane."""
    mean, error = mean_gaze(during(tracked, span))
    return make("gaze", symmetric(mean, error, t_quantile(12.0)), "deg", of=of)


def rebound_measures(make: Maker, prepared: Prepared, settings: GazeSettings) -> list[Measure]:
    """The nystagmus that fades after the return to the centre, as velocity at the return.

    v = level + rebound·exp(−t/decay). Missing where too little follows; none without a return.
    """
    start_s = returned_s(prepared)
    if not np.isfinite(start_s):
        return []
    end_s = float(prepared.recording.time_s[-1])
    after = during(prepared.horizontal, (start_s + settings.hold_settles_s, end_s)).pieces
    if end_s - start_s < settings.rebound_after_s or len(after) < prepared.settings.pieces_min:
        return missing(make, [("rebound", "deg/s")], "not_recorded_after")
    fading = np.exp(-(after.time_s - start_s) / settings.rebound_decay_s)
    data = replace(
        data_of(after, prepared.settings), share=after.duration_s / after.duration_s.max()
    )
    start = np.array([float(np.median(after.velocity_deg_s)), 0.0])
    fit = robust_fit(lambda p: p[0] + p[1] * fading, start, data, no_prior(2))
    value, error = float(fit.parameters[1]), float(fit.standard_errors[1])
    place = place_of(prepared.trial.stimulus)
    side = place.side if place is not None and place.plane == "horizontal" else 0.0
    large = abs(value) > max(settings.rebound_sd * error, settings.rebound_min_deg_s)
    why = ("rebound",) if large and value * side > 0 else ()
    estimate = symmetric(value, error, t_quantile(fit.degrees))
    return [make("rebound", estimate, "deg/s", definition="at_return", why=why)]
