"""Which module measures which kind of trial. A new kind adds its file and one line here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from slowphase.eye.settings import EyeSettings
from slowphase.measures.conditions import with_conditions
from slowphase.measures.fixation import pair_fixation
from slowphase.measures.interval import Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, blank, prepare, result
from slowphase.measures.repeats import firsts
from slowphase.measures.result import PairResult, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid_measures import measure_sinusoid, no_sinusoid
from slowphase.measures.spontaneous import measure_spontaneous, no_spontaneous
from slowphase.measures.step_measures import measure_step, no_step
from slowphase.measures.step_sides import pair_sides
from slowphase.measures.suppression import pair_suppression
from slowphase.recording.trial import Trial


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of trial is measured, and which measures it has when there is nothing to see."""

    measure: Callable[[Prepared], TrialResult]
    nothing: Callable[[Maker, str], list[Measure]]


KINDS: Mapping[str, Kind] = {
    "spontaneous": Kind(measure_spontaneous, no_spontaneous),
    "sinusoid": Kind(measure_sinusoid, no_sinusoid),
    "step": Kind(measure_step, no_step),
}
PAIRS = (pair_fixation, pair_suppression, pair_sides)


def measure_trial(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Everything one trial says; a trial without a usable recording keeps its place, unmeasured."""
    prepared = prepare(trial, eye, settings)
    if prepared is None:
        return unmeasured(trial)
    kind = KINDS.get(trial.kind)
    found = kind.measure(prepared) if kind else result(prepared, [])
    return with_conditions(found, prepared, eye)


def unmeasured(trial: Trial) -> TrialResult:
    """The result of a trial without samples: each measure of its kind is present and missing."""
    why = "not_done" if trial.outcome == "not done" else "no_usable_recording"
    kind = KINDS.get(trial.kind)
    if kind is None and (trial.outcome == "not done" or trial.file is None):
        return blank(trial, None)
    measures = kind.nothing(Maker(trial.id), why) if kind else []
    return replace(blank(trial, Quality(0.0, "unusable", (why,))), measures=tuple(measures))


def measure_pairs(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Everything that two trials say together; repeats take part through the trial they repeat."""
    once = firsts(results)
    return tuple(pair for find in PAIRS for pair in find(once, settings))
