"""Which module measures which kind of trial. A new kind adds its file and one line here."""

from collections.abc import Callable, Mapping

from slowphase.eye.settings import EyeSettings
from slowphase.measures.fixation import pair_fixation
from slowphase.measures.prepare import Prepared, blank, prepare, result
from slowphase.measures.repeats import firsts
from slowphase.measures.result import PairResult, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid_measures import measure_sinusoid
from slowphase.measures.spontaneous import measure_spontaneous
from slowphase.measures.step_measures import measure_step
from slowphase.measures.step_sides import pair_sides
from slowphase.measures.suppression import pair_suppression
from slowphase.recording.trial import Trial

KINDS: Mapping[str, Callable[[Prepared], TrialResult]] = {
    "spontaneous": measure_spontaneous,
    "sinusoid": measure_sinusoid,
    "step": measure_step,
}
PAIRS = (pair_fixation, pair_suppression, pair_sides)


def measure_trial(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Everything one trial says; a trial without a usable recording keeps its place, unmeasured."""
    prepared = prepare(trial, eye, settings)
    if prepared is None:
        quality = None if trial.outcome == "not done" else Quality(0.0, "unusable")
        return blank(trial, quality)
    measure = KINDS.get(trial.kind)
    return measure(prepared) if measure else result(prepared, [])


def measure_pairs(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Everything that two trials say together; repeats take part through the trial they repeat."""
    once = firsts(results)
    return tuple(pair for find in PAIRS for pair in find(once, settings))
