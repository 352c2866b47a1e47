"""The effect of fixation on a spontaneous nystagmus: the same eyes with and without vision."""

from slowphase.measures.interval import NOTHING, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.suppression import combined, ratio_estimate

SEEING = ("light", "head-fixed target", "earth-fixed scene")


def pair_fixation(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Each spontaneous trial with vision beside those in the dark."""
    usable = [trial for trial in results if trial.kind == "spontaneous" and velocity(trial)]
    dark = [trial for trial in usable if trial.vision == "dark"]
    if not dark:
        return ()
    seeing = [trial for trial in usable if trial.vision in SEEING]
    return tuple(fixation_pair(dark, trial, settings) for trial in seeing)


def velocity(trial: TrialResult) -> Measure | None:
    """The horizontal velocity of a spontaneous trial, where it has one."""
    found = (m for m in trial.measures if m.name == "velocity" and m.of == "horizontal")
    return next((measure for measure in found if measure.value is not None), None)


def fixation_pair(
    dark: list[TrialResult], seeing: TrialResult, settings: MeasureSettings
) -> PairResult:
    """100 (1 - velocity with vision / velocity in the dark), in percent."""
    make = Maker(f"{dark[0].id}~{seeing.id}")
    without = combined([found for trial in dark if (found := velocity(trial))])
    seen = velocity(seeing)
    if seen is None or abs(without.value or 0.0) < settings.spontaneous_min_deg_s:
        measure = make("fixation_effect", NOTHING, "%", why=("nystagmus_too_small",))
    else:
        measure = make("fixation_effect", ratio_estimate(without, seen), "%")
    return PairResult("fixation", dark[0].id, seeing.id, (measure,))
