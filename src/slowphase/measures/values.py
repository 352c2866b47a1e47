"""Values measured elsewhere, typed into session.toml: which module reads which kind of test."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from slowphase.eye.settings import EyeSettings
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import Maker
from slowphase.measures.kind import found
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import blank
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Trial

TYPED = ("measured_elsewhere",)
Reader = Callable[[Maker, Mapping[str, object], MeasureSettings], list[Measure]]
TESTS: Mapping[str, str] = {
    "caloric": "caloric_values:caloric_values",
    "impulse": "impulse.typed:typed_impulse",
    "evoked_potential": "evoked_potential:read_evoked_potential",
    "audiogram": "audiogram:read_audiogram",
    "handicap": "handicap:read_handicap",
}


def measure_values(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """The typed values of one test as measures; each carries ``measured_elsewhere``.

    Its interval is unknown (None) unless the values themselves tell one.
    """
    place = TESTS.get(str(trial.stimulus.get("test")))
    if place is None:
        return blank(trial, None)
    read: Reader = found(place)
    measures = read(Maker(trial.id, TYPED), trial.stimulus, settings)
    quality = Quality(100.0, worst_grade(TYPED), TYPED)
    return replace(blank(trial, quality), measures=tuple(measures), parts=(trial.id,))


def no_values(make: Maker, why: str) -> list[Measure]:
    """Typed values that were not done have no measures."""
    return []
