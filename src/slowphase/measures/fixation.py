"""The effect of fixation on a spontaneous nystagmus: the same eyes with and without vision."""

from slowphase.measures.interval import NOTHING, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import cautions, combined, ratio_estimate
from slowphase.measures.prepare import SEEING
from slowphase.measures.result import PairResult, TrialResult, find, why_unusable
from slowphase.measures.settings import MeasureSettings


def pair_fixation(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Each spontaneous trial with vision beside those in the dark."""
    spontaneous = [trial for trial in results if trial.kind == "spontaneous" and trial.measures]
    dark = [trial for trial in spontaneous if trial.vision == "dark"]
    seeing = [trial for trial in spontaneous if trial.vision in SEEING]
    return tuple(fixation_pair(dark, trial, settings) for trial in seeing if dark)


def fixation_pair(
    dark: list[TrialResult], seeing: TrialResult, settings: MeasureSettings
) -> PairResult:
    """The effect of fixation on the horizontal nystagmus, and on the vertical one if recorded."""
    make = Maker(f"{dark[0].id}~{seeing.id}")
    measures = [fixation_effect(make, dark, seeing, "horizontal", settings)]
    if all(any(recorded(t, "vertical") for t in side) for side in (dark, [seeing])):
        measures.append(fixation_effect(make, dark, seeing, "vertical", settings))
    return PairResult("fixation", dark[0].id, seeing.id, tuple(measures))


def recorded(trial: TrialResult, of: str) -> bool:
    """Whether a trial has a velocity of this plane, usable or not."""
    return find(trial, "velocity", of, usable=False) is not None


def fixation_effect(
    make: Maker,
    dark: list[TrialResult],
    seeing: TrialResult,
    of: str,
    settings: MeasureSettings,
) -> Measure:
    """100 (1 - velocity with vision / velocity in the dark) of one plane, in percent."""
    shown = None if of == "horizontal" else of
    seen = find(seeing, "velocity", of)
    known = [found for trial in dark if (found := find(trial, "velocity", of))]
    if seen is None or not known:
        lacking = [*([seeing] if seen is None else []), *([] if known else dark)]
        why = why_unusable(lacking, "velocity", of) or ("partner_missing",)
        return make("fixation_effect", NOTHING, "%", of=shown, why=why)
    without = combined(known)
    if abs(without.value or 0.0) < settings.spontaneous_min_deg_s:
        return make("fixation_effect", NOTHING, "%", of=shown, why=("nystagmus_too_small",))
    estimate, why = ratio_estimate(without, seen, signed=True), cautions([without, seen])
    return make("fixation_effect", estimate, "%", of=shown, why=why)
