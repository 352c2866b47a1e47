"""The effect of fixation on a spontaneous nystagmus: the same eyes with and without vision."""

from slowphase.measures.interval import NOTHING, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined, ratio_estimate
from slowphase.measures.prepare import SEEING
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings


def pair_fixation(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Each spontaneous trial with vision beside those in the dark."""
    spontaneous = [trial for trial in results if trial.kind == "spontaneous" and trial.measures]
    dark = [trial for trial in spontaneous if trial.vision == "dark"]
    seeing = [trial for trial in spontaneous if trial.vision in SEEING]
    return tuple(fixation_pair(dark, trial, settings) for trial in seeing if dark)


def velocity(trial: TrialResult, of: str) -> Measure | None:
    """The velocity of one plane of a spontaneous trial, where it has one."""
    found = (m for m in trial.measures if m.name == "velocity" and m.of == of)
    return next((measure for measure in found if measure.value is not None), None)


def fixation_pair(
    dark: list[TrialResult], seeing: TrialResult, settings: MeasureSettings
) -> PairResult:
    """The effect of fixation on the horizontal nystagmus, and on the vertical one if recorded."""
    make = Maker(f"{dark[0].id}~{seeing.id}")
    measures = [fixation_effect(make, dark, seeing, "horizontal", settings)]
    if velocity(seeing, "vertical") and any(velocity(trial, "vertical") for trial in dark):
        measures.append(fixation_effect(make, dark, seeing, "vertical", settings))
    return PairResult("fixation", dark[0].id, seeing.id, tuple(measures))


def fixation_effect(
    make: Maker,
    dark: list[TrialResult],
    seeing: TrialResult,
    of: str,
    settings: MeasureSettings,
) -> Measure:
    """100 (1 - velocity with vision / velocity in the dark) of one plane, in percent."""
    shown = None if of == "horizontal" else of
    seen = velocity(seeing, of)
    known = [found for trial in dark if (found := velocity(trial, of))]
    if seen is None or not known:
        return make("fixation_effect", NOTHING, "%", of=shown, why=("partner_missing",))
    without = combined(known)
    if abs(without.value or 0.0) < settings.spontaneous_min_deg_s:
        return make("fixation_effect", NOTHING, "%", of=shown, why=("nystagmus_too_small",))
    why = tuple(code for code in (*without.why, *seen.why) if code == "direction_changes")
    return make(
        "fixation_effect", ratio_estimate(without, seen, signed=True), "%", of=shown, why=why
    )
