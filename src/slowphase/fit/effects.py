"""What each parameter of the session's reflex does to each measure.

The effect of a parameter is what a measure is with it, less what it would be if that parameter
alone had the healthy model's value. Effects of several parameters need not add up.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from slowphase.fit.healthy import healthy_model
from slowphase.fit.parameters import Place
from slowphase.fit.predict import Key, quantities_of
from slowphase.fit.whole_session import SessionFit
from slowphase.foundation.arrays import FloatArray
from slowphase.measures import two_directions as at
from slowphase.measures.plain import plain_time_constant
from slowphase.measures.settings import MeasureSettings

KNOBS: dict[str, tuple[int, ...]] = {
    "gain_right": (at.RIGHT,),
    "gain_left": (at.LEFT,),
    "decay_right": (at.DECAY_R,),
    "decay_left": (at.DECAY_L,),
    "adaptation": (at.ADAPT,),
    "latency": (at.LEAD_R, at.LEAD_L),
    "nystagmus": (at.BIAS,),
    "gaze_slope": (at.GAZE,),
}
LOGARITHMS = ("decay_right", "decay_left", "adaptation")
RAW = "time_constant_raw"
SHORTEST_S = 2.0  # below it the peak is what a nystagmus left of it, and no response


@dataclass(frozen=True, slots=True)
class Effect:
    """What one parameter does to one measure of one trial, in the measure's unit.

    None: the measure does not exist, as a response that never falls to 37 % of its peak.
    """

    parameter: str
    trial: str
    of: str | None
    name: str
    value: float | None
    without: float | None

    @property
    def change(self) -> float | None:
        """How much the parameter moves the measure; None unless it exists with and without."""
        if self.value is None or self.without is None:
            return None
        return self.value - self.without


def effects(fit: SessionFit, settings: MeasureSettings) -> tuple[Effect, ...]:
    """Every parameter's effect on every measure of the trials in the dark."""
    dark = [place for place in fit.places if place.in_the_dark]
    return tuple(effect for place in dark for effect in effects_on(place, fit, settings))


def effects_on(place: Place, fit: SessionFit, settings: MeasureSettings) -> Iterator[Effect]:
    """Every parameter's effect on the measures of one trial."""
    local = place.local(fit.parameters)
    now = model_measures(place, local, settings)
    for parameter in KNOBS:
        then = model_measures(place, healed(local, parameter), settings)
        for key in dict.fromkeys([*now, *then]):
            yield Effect(parameter, place.trial.trial, *key, now.get(key), then.get(key))


def healed(local: FloatArray, parameter: str) -> FloatArray:
    """The reflex with one parameter of the healthy model, shape (10,)."""
    value = healthy_model()[parameter].value
    if parameter in LOGARITHMS:
        value = float(np.log(value))
    if parameter == "latency":
        value = -1e-3 * value
    changed = local.copy()
    changed[list(KNOBS[parameter])] = value
    return changed


def model_measures(place: Place, local: FloatArray, settings: MeasureSettings) -> dict[Key, float]:
    """What a reflex would measure in one trial, the plain time constant included."""
    trial = place.trial
    found = quantities_of(place)(local)
    shown = replace(trial.pieces, velocity_deg_s=trial.model(local))
    if 2.0 * found.get((None, "gain"), 0.0) * trial.peak_deg_s < settings.asymmetry_min_deg_s:
        found.pop((None, "asymmetry"), None)
    for change in trial.changes:
        plain = plain_time_constant(shown, change, settings)
        if plain.value is not None and plain.value >= SHORTEST_S:
            found[change.of, RAW] = plain.value
    return found
