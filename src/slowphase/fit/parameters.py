"""The parameters of a session, and what each trial sees of them.

A session has nine parameters of its own and five for each trial (`OWN`): how strong the response
was that time, the nystagmus beside its steady course, the bend of a half wave, the gaze slope and
a phase. In the dark the first two vary little and the last two not at all; a head-fixed target
changes all of them.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.fit.settings import FitSettings
from slowphase.foundation.arrays import FloatArray
from slowphase.measures import two_directions as at
from slowphase.measures.regression import HELD_SD, Prior
from slowphase.measures.two_directions import Carried

RIGHT, LEFT, DECAY, RATIO, ADAPT, LATENCY, NYSTAGMUS, CHANGE, GAZE = range(9)
SHARED = 9  # number of parameters of the session
LEVEL, SHIFT, BEND, LEAK, LEAD = range(5)
OWN = 5  # number of parameters of each trial
DARK = ("dark",)
TARGET = "head-fixed target"


@dataclass(frozen=True, slots=True)
class Place:
    """One trial in its session: where its own parameters stand, and when it was (0 to 1)."""

    trial: Carried
    first: int
    when: float

    @property
    def in_the_dark(self) -> bool:
        """Whether nothing but the reflex and the nystagmus moves the eyes."""
        return self.trial.vision in DARK

    @property
    def own(self) -> slice:
        """Where its own parameters stand."""
        return slice(self.first, self.first + OWN)

    def local(self, parameters: FloatArray) -> FloatArray:
        """The ten parameters of this trial's reflex, shape (10,)."""
        own = parameters[self.own]
        strength = 1.0 + own[LEVEL]
        half = 0.5 * parameters[RATIO]
        lead = own[LEAD] - parameters[LATENCY]
        local = np.zeros(at.SIZE)
        local[at.BIAS], local[at.GAZE], local[at.BEND] = own[SHIFT], own[LEAK], own[BEND]
        if self.in_the_dark:
            local[at.BIAS] += parameters[NYSTAGMUS] + (self.when - 0.5) * parameters[CHANGE]
            local[at.GAZE] += parameters[GAZE]
        local[[at.RIGHT, at.LEFT]] = strength * parameters[[RIGHT, LEFT]]
        local[[at.DECAY_R, at.DECAY_L]] = parameters[DECAY] + half, parameters[DECAY] - half
        local[at.ADAPT] = parameters[ADAPT]
        local[[at.LEAD_R, at.LEAD_L]] = lead
        return local

    def derivatives(self, parameters: FloatArray) -> FloatArray:
        """How `local` changes with all parameters, shape (10, k)."""
        own, strength = self.first, 1.0 + parameters[self.first + LEVEL]
        rows = np.zeros((at.SIZE, parameters.size))
        rows[at.BIAS, own + SHIFT] = rows[at.GAZE, own + LEAK] = rows[at.BEND, own + BEND] = 1.0
        if self.in_the_dark:
            rows[at.BIAS, NYSTAGMUS], rows[at.BIAS, CHANGE] = 1.0, self.when - 0.5
            rows[at.GAZE, GAZE] = 1.0
        for side, gain in ((at.RIGHT, RIGHT), (at.LEFT, LEFT)):
            rows[side, gain], rows[side, own + LEVEL] = strength, parameters[gain]
        for side, way in ((at.DECAY_R, 0.5), (at.DECAY_L, -0.5)):
            rows[side, DECAY], rows[side, RATIO] = 1.0, way
        rows[at.ADAPT, ADAPT] = 1.0
        for side in (at.LEAD_R, at.LEAD_L):
            rows[side, LATENCY], rows[side, own + LEAD] = -1.0, 1.0
        return rows


@dataclass(frozen=True, slots=True)
class Variation:
    """How much trials in the dark differ: relative SD of strength, SD of nystagmus (deg/s)."""

    level: float = 0.0
    shift_deg_s: float = 0.0


def places(trials: tuple[Carried, ...]) -> tuple[Place, ...]:
    """The trials in order, each at the middle of its share of all recorded time."""
    seconds = np.array([trial.seconds for trial in trials])
    middle = (np.cumsum(seconds) - 0.5 * seconds) / seconds.sum()
    return tuple(
        Place(trial, SHARED + OWN * index, float(when))
        for index, (trial, when) in enumerate(zip(trials, middle, strict=True))
    )


def session_prior(found: tuple[Place, ...], varied: Variation, settings: FitSettings) -> Prior:
    """Prior of all parameters; gains and nystagmus are free."""
    size = SHARED + OWN * len(found)
    mean, sd = np.zeros(size), np.full(size, np.inf)
    mean[DECAY], sd[DECAY] = np.log(settings.decay_s), settings.decay_log_sd
    sd[RATIO] = settings.side_decay_log_sd
    mean[ADAPT], sd[ADAPT] = np.log(settings.adaptation_s), settings.adaptation_log_sd
    mean[LATENCY], sd[LATENCY] = settings.latency_s, settings.latency_sd_s
    sd[GAZE], sd[CHANGE] = settings.gaze_slope_sd, settings.change_sd_deg_s
    for place in found:
        sd[place.own] = own_sd(place, varied, settings)
    return Prior(mean, sd)


def own_sd(place: Place, varied: Variation, settings: FitSettings) -> FloatArray:
    """Prior SD of one trial's own parameters, shape (5,)."""
    bend = settings.bend_sd if place.trial.frequency_hz else HELD_SD
    if place.in_the_dark:
        unknown = 0.0 if place.trial.gaze_known else settings.gaze_unknown_deg_s
        shift = max(float(np.hypot(varied.shift_deg_s, unknown)), HELD_SD)
        return np.array([max(varied.level, HELD_SD), shift, bend, HELD_SD, HELD_SD])
    lead = HELD_SD
    if place.trial.frequency_hz:
        lead = float(np.radians(settings.shift_sd_deg)) / (2 * np.pi * place.trial.frequency_hz)
    level = np.inf if place.trial.drive else HELD_SD
    return np.array([level, np.inf, bend, settings.gaze_slope_sd, lead])


def starting_point(found: tuple[Place, ...], settings: FitSettings) -> FloatArray:
    """What the trials say each by itself: medians over those in the dark that respond."""
    start = np.zeros(SHARED + OWN * len(found))
    start[DECAY], start[ADAPT] = np.log(settings.decay_s), np.log(settings.adaptation_s)
    start[LATENCY] = settings.latency_s
    dark = [place.trial for place in found if place.in_the_dark]
    moving = np.array([trial.own for trial in dark if trial.drive is not None])
    steps = np.array([t.own for t in dark if t.kind == "step" and t.responds] or moving)
    start[[RIGHT, LEFT]] = np.median(moving[:, [at.RIGHT, at.LEFT]], axis=0)
    right, left = np.median(steps[:, [at.DECAY_R, at.DECAY_L]], axis=0)
    start[DECAY], start[RATIO] = 0.5 * (right + left), right - left
    start[NYSTAGMUS] = float(np.median([trial.own[at.BIAS] for trial in dark]))
    start[GAZE] = max(float(np.median(moving[:, at.GAZE])), 0.0)
    for place in found:
        if not place.in_the_dark:
            start[place.own] = own_start(place.trial, start)
    return start


def own_start(trial: Carried, start: FloatArray) -> FloatArray:
    """Own parameters of a trial with vision, from its own fit, shape (5,)."""
    dark = start[[RIGHT, LEFT]]
    left_over = trial.own[[at.RIGHT, at.LEFT]]
    power = float(dark @ dark)
    share = float(dark @ left_over) / power if power > 0 else 0.0
    level = share - 1.0 if trial.drive else 0.0
    return np.array([level, trial.own[at.BIAS], 0.0, trial.own[at.GAZE], 0.0])
