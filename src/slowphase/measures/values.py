"""Values measured elsewhere, typed into session.toml: which module reads which kind of test."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from slowphase.eye.settings import EyeSettings
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.audiogram import read_audiogram
from slowphase.measures.caloric_values import caloric_values
from slowphase.measures.evoked_potential import read_evoked_potential
from slowphase.measures.handicap import read_handicap
from slowphase.measures.impulse.typed import typed_impulse
from slowphase.measures.interval import Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import blank
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Trial

TYPED = ("measured_elsewhere",)
Reader = Callable[[Maker, Mapping[str, object], MeasureSettings], list[Measure]]
TESTS: Mapping[str, Reader] = {
    "caloric": caloric_values,
    "evoked_potential": read_evoked_potential,
    "audiogram": read_audiogram,
    "handicap": read_handicap,
    "impulse": typed_impulse,
}


def measure_values(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """The typed values of one test as measures; each carries ``measured_elsewhere``.

    Its interval is unknown (None) unless the values themselves tell one.
    """
    read = TESTS.get(str(trial.stimulus.get("test")))
    if read is None:
        return blank(trial, None)
    measures = read(Maker(trial.id, TYPED), trial.stimulus, settings)
    quality = Quality(100.0, worst_grade(TYPED), TYPED)
    return replace(blank(trial, quality), measures=tuple(measures), parts=(trial.id,))


def no_values(make: Maker, why: str) -> list[Measure]:
    """Typed values that were not done have no measures."""
    return []
