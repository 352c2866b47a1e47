"""What every kind of trial needs before it is measured: tracked eyes, quality, the chair."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.quickphase import running_median
from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import Pieces
from slowphase.eye.trace import EyeTrace
from slowphase.eye.track import Tracked, mark, track, track_torsion
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median, quantile
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.reflex import Drive
from slowphase.measures.regression import Fit
from slowphase.measures.result import Evidence, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.two_directions import Carried
from slowphase.recording.trial import Recording, Trial

if TYPE_CHECKING:
    from slowphase.measures.step import Change

TORSIONAL = ("gaze", "positional")
SEEING = ("light", "head-fixed target", "earth-fixed scene")


@dataclass(frozen=True, slots=True)
class Prepared:
    """One trial with its eyes tracked, ready for the module of its kind."""

    trial: Trial
    recording: Recording
    horizontal: Tracked
    vertical: Tracked | None
    why: tuple[str, ...]
    settings: MeasureSettings
    torsional: Tracked | None = None

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
    horizontal, vertical = track(trial.recording, eye=trial.eye, settings=fitting(eye, trial))
    if horizontal is None:
        return None
    why = (*trial.recording.why, *_quality_reasons(trial, horizontal, settings))
    if wandering_deg(horizontal.trace, settings) > settings.gaze_wander_deg:
        why = (*why, "gaze_unknown")
        horizontal = replace(horizontal, pieces=without_slow_gaze(horizontal.pieces, settings))
    torsional = (
        track_torsion(trial.recording, eye=trial.eye, settings=eye) if turns(trial) else None
    )
    return Prepared(
        trial, trial.recording, horizontal, vertical, why, of_vision(settings, trial), torsional
    )


def turns(trial: Trial) -> bool:
    """Whether torsion is measured on trials of this kind."""
    return trial.kind in TORSIONAL


def fitting(eye: EyeSettings, trial: Trial) -> EyeSettings:
    """Settings of the eye layer in which no piece is long for the trial's stimulus."""
    frequency = number(trial.stimulus, "frequency_hz")
    if not frequency > 0:
        return eye
    longest = eye.piece_cycles / frequency
    return replace(
        eye,
        piece_min_s=min(eye.piece_min_s, longest),
        piece_max_s=min(eye.piece_max_s, longest),
    )


def of_vision(settings: MeasureSettings, trial: Trial) -> MeasureSettings:
    """The settings in which an eye that sees wanders less."""
    if trial.vision in SEEING:
        return replace(settings, drift_deg_s=settings.drift_seeing_deg_s)
    return settings


def of_the_drowsy(prepared: Prepared) -> Prepared:
    """The trial as that of a patient whose alertness lapsed in another trial of the session.

    His response may waver more, and lapse unseen where it is weak; sets ``lapses_elsewhere``.
    """
    settings = prepared.settings
    wavering = replace(settings, waver=settings.waver_drowsy, unseen=settings.unseen_drowsy)
    return replace(prepared, settings=wavering, why=(*prepared.why, "lapses_elsewhere"))


def wandering_deg(trace: EyeTrace, settings: MeasureSettings) -> float:
    """How far eye position wanders slowly (deg)."""
    seen = np.isfinite(trace.position_deg)
    block = np.floor(trace.time_s[seen] / settings.gaze_block_s).astype(np.int64)
    first = np.flatnonzero(np.diff(block, prepend=block[:1] - 1))
    parts = np.split(trace.position_deg[seen], first[1:])
    centres = np.array([median(part) for part in parts])
    return quantile(centres, 0.95) - quantile(centres, 0.05)


def without_slow_gaze(pieces: Pieces, settings: MeasureSettings) -> Pieces:
    """Pieces whose gaze is what it is beside its own slow course."""
    usual = median(np.diff(pieces.time_s)) if len(pieces) > 1 else 1.0
    window = max(3, round(2 * settings.gaze_block_s / max(usual, 1e-6)))
    return replace(pieces, gaze_deg=pieces.gaze_deg - running_median(pieces.gaze_deg, window))


def with_unknown_gaze(
    covariance: FloatArray, bias: int, gaze_slope: float, prepared: Prepared
) -> FloatArray:
    """Covariance in which the bias also carries that straight ahead is not known, if so."""
    if "gaze_unknown" not in prepared.why:
        return covariance
    wider = covariance.copy()
    wider[bias, bias] += (gaze_slope * prepared.settings.gaze_unknown_sd_deg) ** 2
    return wider


def _quality_reasons(trial: Trial, tracked: Tracked, settings: MeasureSettings) -> tuple[str, ...]:
    why = []
    if tracked.trace.usable_pct < settings.usable_low_pct:
        why.append("few_usable_samples")
    if len(tracked.pieces) < settings.pieces_min:
        why.append("too_short")
    if trial.outcome == "stopped":
        why.append("stopped_early")
    if trial.eye == "both" and recorded_eyes(trial) > len(tracked.eyes):
        why.append("one_eye")
    return tuple(why)


def recorded_eyes(trial: Trial) -> int:
    """How many horizontal eye channels the recording has."""
    channels = trial.recording.channels if trial.recording else {}
    return sum(f"eye_h_{side}" in channels for side in ("right", "left"))


def result(
    prepared: Prepared,
    measures: list[Measure],
    *,
    fit_deg_s: FloatArray | None = None,
    lapse: BoolArray | None = None,
    outlier: BoolArray | None = None,
    why: tuple[str, ...] = (),
) -> TrialResult:
    """The result of one trial, its evidence marked with what the fit left out.

    Adds the measure ``usable``, the share of samples (%) that took part.
    """
    trace = prepared.horizontal.trace
    use = trace.use
    for chosen, reason in ((lapse, "lapse"), (outlier, "outlier")):
        if chosen is not None and chosen.any():
            use = mark(use, prepared.pieces, chosen, reason)
    shown = EyeTrace(
        trace.time_s, trace.position_deg, trace.velocity_deg_s, use, trace.quick_phases
    )
    vertical = prepared.vertical.trace if prepared.vertical else None
    share = shown.usable_pct
    if any(measure.value is not None for measure in measures):
        usable = Estimate(share, share, share)
        measures = [*measures, prepared.maker()("usable", usable, "%")]
    else:
        why = (*why, *(code for measure in measures for code in measure.why))
    reasons = tuple(dict.fromkeys((*prepared.why, *why)))
    return replace(
        blank(prepared.trial, Quality(share, worst_grade(reasons), reasons)),
        measures=tuple(measures),
        evidence=Evidence(shown, prepared.recording.head_velocity_deg_s, fit_deg_s, vertical),
        parts=(prepared.trial.id,),
    )


def carry(
    prepared: Prepared,
    fit: Fit,
    own: FloatArray,
    *,
    drive: Drive | None = None,
    changes: tuple[Change, ...] = (),
    peak_deg_s: float = 0.0,
    responds: bool = False,
) -> Carried:
    """What the session's fit takes from this trial; ``own`` (10,) as in `two_directions`."""
    frequency = number(prepared.trial.stimulus, "frequency_hz")
    return Carried(
        trial=prepared.trial.id,
        kind=prepared.trial.kind,
        vision=prepared.trial.vision or "dark",
        frequency_hz=frequency if frequency > 0 else None,
        peak_deg_s=peak_deg_s,
        seconds=duration_s(prepared.recording),
        drive=drive,
        pieces=prepared.pieces,
        changes=changes,
        told=fit.told,
        drift=fit.drift,
        own=own,
        degrees=fit.degrees,
        gaze_known="gaze_unknown" not in prepared.why,
        responds=responds,
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


def too_little(prepared: Prepared) -> bool:
    """Whether the trial holds too little slow phase to fit anything."""
    return len(prepared.pieces) < prepared.settings.pieces_min


def missing(maker: Maker, names: list[tuple[str, str]], why: str) -> list[Measure]:
    """Measures (name, unit) that cannot be had, for one reason."""
    return [maker(name, NOTHING, unit, why=(why,)) for name, unit in names]


def alike(one: TrialResult, other: TrialResult, key: str, tolerance: float) -> bool:
    """Whether a number of two trials' stimuli differs by no more than a share of the second.

    Two trials that both do not tell it are alike.
    """
    a, b = number(one.stimulus, key), number(other.stimulus, key)
    return bool(np.isnan(a) and np.isnan(b)) or abs(a - b) <= tolerance * abs(b)


def known_head(recording: Recording, settings: MeasureSettings) -> FloatArray | None:
    """Head velocity where enough of it is known to tell the motion, shape (n,)."""
    head = recording.head_velocity_deg_s
    if head is None or np.isfinite(head).sum() < settings.head_samples_min:
        return None
    return head


def not_converged(fit: Fit) -> tuple[str, ...]:
    """The reason of a fit whose steps never came to rest."""
    return () if fit.converged else ("not_converged",)


def poorly(error: float, limit: float) -> tuple[str, ...]:
    """The reason of a value whose standard error is beyond a limit."""
    return ("poorly_determined",) if error > limit else ()


def roughly(error: float, limit: float) -> tuple[str, ...]:
    """The reason of a value whose standard error is large for its kind, though not hopeless."""
    return ("known_roughly",) if error > limit else ()


def duration_s(recording: Recording) -> float:
    """Length of a recording (s)."""
    return float(recording.time_s[-1] - recording.time_s[0]) if recording.time_s.size else 0.0
