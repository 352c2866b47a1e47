"""Gaze positions together: how velocity depends on gaze, in the dark and in the light.

v = centre + dependence·gaze. A leaky gaze integrator makes the dependence negative: the slow phase
runs back to the centre. Alone it beats outward on both sides (gaze-evoked nystagmus); together
with a nystagmus that is there already it makes that stronger toward its quick phase (Alexander's
law). Which of them a session shows is a reason of the dependence.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.gaze_hold import place_of
from slowphase.measures.gaze_settings import GazeSettings
from slowphase.measures.interval import NOTHING, Z95, Estimate, Maker, symmetric
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import (
    cautions,
    combined,
    ratio_estimate,
    standard_error,
)
from slowphase.measures.prepare import SEEING
from slowphase.measures.result import GroupResult, TrialResult, find, why_unusable
from slowphase.measures.settings import MeasureSettings

ID = "gaze"
PLANES = ("horizontal", "vertical")


@dataclass(frozen=True, slots=True)
class Held:
    """One gaze position: its name, where the eye was (deg), and the slow phase there."""

    trial: str
    name: str
    gaze_deg: float
    velocity: Measure
    seeing: bool


@dataclass(frozen=True, slots=True)
class Line:
    """Velocity on gaze: at the centre (deg/s) and by deg (1/s), with standard errors."""

    centre: float
    centre_error: float
    slope: float
    slope_error: float
    scattered: bool

    @property
    def chance(self) -> float:
        """Two-sided probability of such a slope by chance (normal)."""
        return math.erfc(abs(self.slope) / max(self.slope_error, 1e-12) / math.sqrt(2.0))


def group_gaze(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """Dependence on gaze of each plane with and without vision, and the effect of fixation.

    Sets ``gaze_positions_few``, ``gaze_evoked``, ``alexanders_law``, ``gaze_law_open``,
    ``gaze_independent``, ``no_line``, ``nystagmus_too_small``.
    """
    trials = [trial for trial in results if trial.kind == "gaze" and trial.measures]
    if not trials:
        return ()
    make, own = Maker(ID), settings.battery.gaze
    measures: list[Measure] = []
    for plane in PLANES:
        found = positions(trials, plane)
        for seeing in (False, True):
            same = [one for one in found if one.seeing is seeing]
            spoilt = spoilt_positions(trials, plane, seeing=seeing)
            if same or spoilt:
                measures += dependence(make, same, of_words(plane, seeing=seeing), own, spoilt)
        measures += fixation_effects(make, found, plane, own)
    return (GroupResult(ID, "gaze", tuple(trial.id for trial in trials), tuple(measures)),)


def of_words(plane: str, *, seeing: bool) -> str:
    """``dark`` or ``light``, led by the plane where that is not the horizontal one."""
    vision = "light" if seeing else "dark"
    return vision if plane == "horizontal" else f"{plane} {vision}"


def positions(trials: Sequence[TrialResult], plane: str) -> list[Held]:
    """The gaze positions along one plane, the centre included."""
    return [one for trial in trials if (one := position(trial, plane)) is not None]


def position(trial: TrialResult, plane: str) -> Held | None:
    """One trial as a position along a plane; None where it looks along the other one."""
    place = place_of(trial.stimulus)
    gaze = find(trial, "gaze", None if plane == "horizontal" else plane)
    velocity = find(trial, "velocity", plane)
    if not along(trial, plane) or gaze is None or velocity is None:
        return None
    name = place.name if place else "free"
    return Held(trial.id, name, float(gaze.value or 0.0), velocity, trial.vision in SEEING)


def along(trial: TrialResult, plane: str) -> bool:
    """Whether a trial tells of gaze along this plane."""
    place = place_of(trial.stimulus)
    return place is None or place.name == "centre" or place.plane == plane


def spoilt_positions(trials: Sequence[TrialResult], plane: str, *, seeing: bool) -> tuple[str, ...]:
    """Why positions along a plane have a velocity that may not be used."""
    own = [t for t in trials if along(t, plane) and (t.vision in SEEING) is seeing]
    return why_unusable(own, "velocity", plane)


def dependence(
    make: Maker,
    held: Sequence[Held],
    of: str,
    settings: GazeSettings,
    spoilt: tuple[str, ...] = (),
) -> list[Measure]:
    """Velocity at the centre, its dependence on gaze with the probability of chance, the law.

    ``spoilt`` says why further positions could not be used.
    """
    names = (("velocity_at_centre", "deg/s"), ("gaze_dependence", "/s"), ("gaze_chance", "1"))
    gazes = [one.gaze_deg for one in held]
    if not gazes or max(gazes) - min(gazes) < settings.spread_min_deg:
        few = ("gaze_positions_few", *spoilt)
        return [make(name, NOTHING, unit, of=of, why=few) for name, unit in names]
    line = fit_line(held, settings)
    why = (*cautions([one.velocity for one in held]), *(("no_line",) if line.scattered else ()))
    law = law_of(held, line, settings)
    centre = symmetric(line.centre, line.centre_error, Z95)
    slope = symmetric(line.slope, line.slope_error, Z95)
    return [
        make("velocity_at_centre", centre, "deg/s", of=of, why=why),
        make("gaze_dependence", slope, "/s", of=of, why=(*why, law)),
        make("gaze_chance", Estimate(line.chance), "1", of=of, why=why),
    ]


def fit_line(held: Sequence[Held], settings: GazeSettings) -> Line:
    """Weighted least squares; scatter of the positions beyond their errors widens the interval."""
    gaze = np.array([one.gaze_deg for one in held])
    velocity = np.array([one.velocity.value for one in held], dtype=float)
    error = np.array([standard_error(one.velocity) for one in held])
    design = np.column_stack([np.ones(gaze.size), gaze])
    weight = error**-2.0
    covariance = np.linalg.inv((design.T * weight) @ design)
    found = covariance @ (design.T @ (weight * velocity))
    factor = scatter(velocity - design @ found, error)
    errors = np.sqrt(np.diag(covariance)) * min(factor, settings.scatter_max)
    return Line(
        centre=float(found[0]),
        centre_error=float(errors[0]),
        slope=float(found[1]),
        slope_error=float(errors[1]),
        scattered=factor > settings.scatter_max,
    )


def scatter(residual: FloatArray, error: FloatArray) -> float:
    """How much larger residuals are than their errors, at least 1 (two positions tell nothing)."""
    if residual.size < 3:
        return 1.0
    return max(float(np.sqrt(np.sum((residual / error) ** 2) / (residual.size - 2))), 1.0)


def law_of(held: Sequence[Held], line: Line, settings: GazeSettings) -> str:
    """Gaze-evoked, Alexander's law, either, or no dependence of the kind.

    Gaze-evoked: on both sides the slow phase goes surely to the centre. Alexander: surely one way
    on both sides, stronger toward the quick phase. Either: a dependence of that sign, one side
    of which is not sure.
    """
    if line.slope >= 0.0 or line.chance > settings.chance:
        return "gaze_independent"
    right, left = (outermost(held, side) for side in (1.0, -1.0))
    ways = [surely(one.velocity, settings) for one in (right, left)]
    if ways == [-1, 1]:
        return "gaze_evoked"
    if ways[0] == ways[1] != 0:
        return "alexanders_law"
    return "gaze_law_open"


def outermost(held: Sequence[Held], side: float) -> Held:
    """The position furthest to one side (right or up positive)."""
    return max(held, key=lambda one: side * one.gaze_deg)


def surely(velocity: Measure, settings: GazeSettings) -> int:
    """The sign of a velocity whose whole interval and size are beyond the still eye's; else 0."""
    low, high = velocity.low, velocity.high
    if low is None or high is None or abs(velocity.value or 0.0) < settings.beats_deg_s:
        return 0
    return 1 if low > 0 else -1 if high < 0 else 0


def fixation_effects(
    make: Maker, held: Sequence[Held], plane: str, settings: GazeSettings
) -> list[Measure]:
    """100·(1 − velocity with vision / velocity in the dark) of each position recorded in both."""
    found = []
    for name in dict.fromkeys(one.name for one in held):
        pair = [
            [one.velocity for one in held if one.name == name and one.seeing is seeing]
            for seeing in (False, True)
        ]
        if name != "free" and all(pair):
            of = name if plane == "horizontal" or name in ("up", "down") else f"{plane} {name}"
            dark, light = combined(pair[0]), combined(pair[1])
            found.append(fixation_effect(make, dark, light, of, settings))
    return found


def fixation_effect(
    make: Maker, dark: Measure, light: Measure, of: str, settings: GazeSettings
) -> Measure:
    """The reduction by fixation at one position; withheld where the dark velocity is small."""
    if abs(dark.value or 0.0) < settings.fixation_min_deg_s:
        return make("fixation_effect", NOTHING, "%", of=of, why=("nystagmus_too_small",))
    why = cautions([dark, light])
    return make("fixation_effect", ratio_estimate(dark, light, signed=True), "%", of=of, why=why)
