"""What every kind of trial needs before it is measured: tracked eyes, quality, the chair."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import Pieces
from slowphase.eye.trace import EyeTrace
from slowphase.eye.track import Tracked, mark, track
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.result import Evidence, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Recording, Trial


@dataclass(frozen=True, slots=True)
class Prepared:
    """One trial with its eyes tracked, ready for the module of its kind."""

    trial: Trial
    recording: Recording
    horizontal: Tracked
    vertical: Tracked | None
    why: tuple[str, ...]
    settings: MeasureSettings

    @property
    def pieces(self) -> Pieces:
        """Slow phase of the horizontal plane."""
        return self.horizontal.pieces

    def maker(self) -> Maker:
        """Maker of measures that carry the trial's own reasons."""
        return Maker(self.trial.id, self.why)


def prepare(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> Prepared | None:
    """Track the eyes of a trial; None where it has no recording or no horizontal eye."""
    if trial.recording is None:
        return None
    horizontal, vertical = track(trial.recording, eye=trial.eye, settings=eye)
    if horizontal is None:
        return None
    why = (*trial.recording.why, *_quality_reasons(trial, horizontal, settings))
    return Prepared(trial, trial.recording, horizontal, vertical, why, settings)


def _quality_reasons(trial: Trial, tracked: Tracked, settings: MeasureSettings) -> tuple[str, ...]:
    why = []
    if tracked.trace.usable_pct < settings.usable_low_pct:
        why.append("few_usable_samples")
    if len(tracked.pieces) < settings.pieces_min:
        why.append("too_short")
    if trial.outcome == "stopped":
        why.append("stopped_early")
    return tuple(why)


def result(
    prepared: Prepared,
    measures: list[Measure],
    *,
    fit_deg_s: FloatArray | None = None,
    lapse: BoolArray | None = None,
    outlier: BoolArray | None = None,
    why: tuple[str, ...] = (),
) -> TrialResult:
    """The result of one trial, its evidence marked with what the fit left out."""
    trace = prepared.horizontal.trace
    use = trace.use
    for chosen, reason in ((lapse, "lapse"), (outlier, "outlier")):
        if chosen is not None and chosen.any():
            use = mark(use, prepared.pieces, chosen, reason)
    shown = EyeTrace(
        trace.time_s, trace.position_deg, trace.velocity_deg_s, use, trace.quick_phases
    )
    vertical = prepared.vertical.trace if prepared.vertical else None
    reasons = tuple(dict.fromkeys((*prepared.why, *why)))
    return replace(
        blank(prepared.trial, Quality(trace.usable_pct, worst_grade(reasons), reasons)),
        measures=tuple(measures),
        evidence=Evidence(shown, prepared.recording.head_velocity_deg_s, fit_deg_s, vertical),
        parts=(prepared.trial.id,),
    )


def blank(trial: Trial, quality: Quality | None) -> TrialResult:
    """The result of a trial before anything is measured: what it repeats of the trial."""
    return TrialResult(
        id=trial.id,
        kind=trial.kind,
        vision=trial.vision,
        stimulus=trial.stimulus,
        outcome=trial.outcome,
        reason=trial.reason,
        quality=quality,
    )


def number(stimulus: Mapping[str, object], key: str) -> float:
    """A numeric key of a trial; NaN where it is missing or no number."""
    value = stimulus.get(key)
    return float(value) if isinstance(value, int | float) else float("nan")


def usable(prepared: Prepared) -> Estimate:
    """Share of samples that belong to the slow phase (%): a count, without an interval."""
    value = prepared.horizontal.trace.usable_pct
    return Estimate(value, value, value)


def too_little(prepared: Prepared) -> bool:
    """Whether the trial holds too little slow phase to fit anything."""
    return len(prepared.pieces) < prepared.settings.pieces_min


def missing(maker: Maker, names: list[tuple[str, str]], why: str) -> list[Measure]:
    """Measures (name, unit) that cannot be had, for one reason."""
    return [maker(name, NOTHING, unit, why=(why,)) for name, unit in names]


def duration_s(recording: Recording) -> float:
    """Length of a recording (s)."""
    return float(recording.time_s[-1] - recording.time_s[0]) if recording.time_s.size else 0.0
