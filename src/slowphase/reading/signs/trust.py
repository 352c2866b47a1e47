"""Signs that the recording, not the patient, made the numbers; or that there are too few."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.coherence import Incoherence, median_speed
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.rules.caloric import goes_wrong
from slowphase.reading.signs.battery import (
    caloric_both,
    caloric_left,
    caloric_right,
    ears,
    impulse_both,
    impulse_left,
    impulse_right,
)
from slowphase.reading.signs.rotation import constant_short, gain_low
from slowphase.reading.signs.sign import OPEN, Answer, held
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import with_interval

RECORDING = ("calibration_implausible", "light_leak")
ROTATIONS = ("sinusoid", "step")
TIRED = ("low_alertness", "lapses_left_out", "roving_eyes", "slow_quick_phases")
LIKELY = 0.5
SHOWN = 3  # measures that are named of many
TOLD = ("gain", "time_constant")


def drowsy(findings: Findings) -> Answer:
    """Alertness was low throughout; or most trials in the dark show signs of it, and quick phases
    are slow, or what was found is what drowsiness does and nothing but rotation shows it."""
    own = [f for f in findings.incoherences if f.code == "low_alertness"]
    if own:
        return Answer(1.0, tuple(shown(f) for f in own))
    dark = [t for t in findings.trials if _in_the_dark(t) and t.quality is not None]
    if not dark:
        return OPEN
    if _mostly(dark, "low_alertness"):
        return Answer(1.0, _where(dark, "low_alertness"))
    slow = median_speed(tuple(dark)) < limits()["tired_sequence"].value
    tired = _mostly(dark, *TIRED) and (slow or _as_drowsiness_does(findings))
    return Answer(float(tired), _where(dark, *TIRED) if tired else ())


def _where(trials: list[TrialResult], *codes: str) -> tuple[EvidenceItem, ...]:
    """The measures of the trials that carry one of the reasons, one of each."""
    own = [t for t in trials if t.quality and set(codes) & set(t.quality.why)]
    return held([next(m for m in t.measures if m.value is not None) for t in own
                 if any(m.value is not None for m in t.measures)])  # fmt: skip


def _as_drowsiness_does(findings: Findings) -> bool:
    """Responses weak or short, and neither calorics nor impulses that show a loss beside it."""
    found = (gain_low(findings), constant_short(findings))
    loss = (caloric_both, caloric_right, caloric_left, impulse_both, impulse_right, impulse_left)
    shown_by_others = any((ask(findings).chance or 0.0) > LIKELY for ask in loss)
    return any((a.chance or 0.0) > LIKELY for a in found) and not shown_by_others


def _in_the_dark(trial: TrialResult) -> bool:
    return trial.kind in ROTATIONS and trial.vision in (None, "dark")


def _mostly(trials: list[TrialResult], *codes: str) -> bool:
    """Whether most trials carry one of the reasons."""
    own = [t for t in trials if t.quality and set(codes) & set(t.quality.why)]
    return len(own) > limits()["drowsy_share"].value / 100.0 * len(trials)


def doubtful_recording(findings: Findings) -> Answer:
    """Calibration or darkness were not what the trials need."""
    own = [f for f in findings.incoherences if f.code in RECORDING]
    return Answer(float(bool(own)), tuple(shown(f) for f in own))


def mirrored(findings: Findings) -> Answer:
    """Most rotations in the dark answer the chair the wrong way: a channel seems mirrored."""
    asked = [m for t in findings.trials if _in_the_dark(t) for m in t.measures if m.name == "gain"]
    wrong = [m for m in asked if "wrong_way" in m.why]
    if not asked:
        return OPEN
    most = len(wrong) > limits()["drowsy_share"].value / 100.0 * len(asked)
    return Answer(float(most), held(wrong[:SHOWN]) if most else ())


def reversed_irrigations(findings: Findings) -> Answer:
    """An ear that answers irrigation strongly, and the wrong way."""
    totals = list(ears(findings).values())
    if not totals:
        return OPEN
    wrong = [m for m in totals if goes_wrong(m)]
    return Answer(float(bool(wrong)), held(wrong))


def little_usable(findings: Findings) -> Answer:
    """Most of what rotation should have told is missing or unusable."""
    asked = [
        m for t in findings.trials
        if t.kind in ROTATIONS and t.vision in (None, "dark") and t.outcome != "not done"
        for m in t.measures
        if m.name in TOLD and (t.kind == "step" or m.name == "gain")
    ]  # fmt: skip
    if not asked:
        return OPEN
    bad = [m for m in asked if not told(m)]
    share = 100.0 * len(bad) / len(asked)
    return Answer(float(share > limits()["unusable_share"].value), held(bad[:SHOWN]))


def told(measure: Measure) -> bool:
    """Whether a measure says something: a value, or that there was nothing to measure."""
    nothing = {"no_response", "weak_response"} & set(measure.why)
    return (measure.value is not None and measure.grade != "unusable") or bool(nothing)


def shown(found: Incoherence) -> EvidenceItem:
    """A finding of the session as evidence."""
    text = with_interval(found.value, found.low, found.high, found.unit)
    return EvidenceItem(found.code, text)
