"""Signs that the recording, not the patient, made the numbers; or that there are too few."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.coherence import Incoherence, median_speed
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.signs.sign import OPEN, Answer, held
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import with_interval

RECORDING = ("calibration_implausible", "light_leak")
ROTATIONS = ("sinusoid", "step")
TOLD = ("gain", "time_constant")


def drowsy(findings: Findings) -> Answer:
    """Alertness was low throughout, or lapsed in most trials in the dark of slow quick phases."""
    own = [f for f in findings.incoherences if f.code == "low_alertness"]
    if own:
        return Answer(1.0, tuple(shown(f) for f in own))
    dark = [t for t in findings.trials if _in_the_dark(t) and t.quality is not None]
    if not dark:
        return OPEN
    tired = _mostly(dark, "low_alertness")
    slow = median_speed(tuple(dark)) < limits()["tired_sequence"].value
    return Answer(float(tired or (slow and _mostly(dark, "lapses_left_out"))))


def _in_the_dark(trial: TrialResult) -> bool:
    return trial.kind in ROTATIONS and trial.vision in (None, "dark")


def _mostly(trials: list[TrialResult], code: str) -> bool:
    """Whether most trials carry a reason."""
    own = [t for t in trials if t.quality and code in t.quality.why]
    return len(own) > limits()["drowsy_share"].value / 100.0 * len(trials)


def doubtful_recording(findings: Findings) -> Answer:
    """Calibration or darkness were not what the trials need."""
    own = [f for f in findings.incoherences if f.code in RECORDING]
    return Answer(float(bool(own)), tuple(shown(f) for f in own))


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
    return Answer(float(share > limits()["unusable_share"].value), held(bad[:3]))


def told(measure: Measure) -> bool:
    """Whether a measure says something: a value, or that there was nothing to measure."""
    nothing = {"no_response", "weak_response"} & set(measure.why)
    return (measure.value is not None and measure.grade != "unusable") or bool(nothing)


def shown(found: Incoherence) -> EvidenceItem:
    """A finding of the session as evidence."""
    text = with_interval(found.value, found.low, found.high, found.unit)
    return EvidenceItem(found.code, text)
