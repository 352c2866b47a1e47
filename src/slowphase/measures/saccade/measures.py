"""Saccades: latency, accuracy, peak velocity and how alike both eyes are, by direction."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.fixations import with_times
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import NOTHING, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, missing, number, result, roughly
from slowphase.measures.result import TrialResult
from slowphase.measures.saccade.answers import (
    WAYS,
    Answer,
    answer_to,
    blur_s,
    jumps_of,
    off_target_deg,
    peak_speed,
    velocity_of,
)
from slowphase.measures.saccade.sequence import MainSequence, main_sequence
from slowphase.measures.saccade.settings import SaccadeSettings
from slowphase.measures.statistics import median_error
from slowphase.recording.targets import TargetSteps, target_steps
from slowphase.recording.trial import Recording

TO_TARGET = "to_target"  # a latency from the jump of a target, not that of a reflex
NAMES = (("latency", "ms"), ("accuracy", "%"), ("peak_velocity", "deg/s"))


@dataclass(frozen=True, slots=True)
class SaccadeView:
    """What a picture of saccades shows: every jump with its answer, and the main sequences."""

    steps: TargetSteps
    answers: tuple[Answer, ...]
    sequences: dict[str, MainSequence]
    timed: bool


def measure_saccade(prepared: Prepared) -> TrialResult:
    """What the first saccade to each jump of the target tells, all together and by direction.

    Sets ``targets_unknown``, ``target_not_timed``, ``no_saccades``, ``few_answers``,
    ``targets_missed``, ``anticipations_left_out``, ``sampled_too_slowly``, ``one_eye``,
    ``known_roughly``.
    """
    own = prepared.settings.battery.saccade
    # the target leads the eye far out: that is no lost straight ahead
    why = tuple(code for code in prepared.why if code != "gaze_unknown")
    prepared = replace(prepared, why=why)
    steps, timed = known_steps(prepared, own)
    if steps is None:
        return result(prepared, no_saccade(prepared.maker(), "targets_unknown"))
    answers = found_answers(prepared, steps, own)
    if not any(answer.verdict == "answered" for answer in answers):
        return result(prepared, no_saccade(prepared.maker(), "no_saccades"))
    prepared = replace(prepared, why=(*prepared.why, *_trial_reasons(answers, own)))
    make = prepared.maker()
    sequences = _sequences(answers, own)
    measures: list[Measure] = []
    for way in (None, *(w for w in sum(WAYS, ()) if any(a.jump.way == w for a in answers))):
        chosen = [a for a in answers if way is None or a.jump.way == way]
        measures += of_way(make, way, chosen, sequences.get(way or "all"), own, timed=timed)
    measures += _counts(make, answers)
    found = result(prepared, measures)
    if found.evidence is None:
        return found
    view = SaccadeView(steps, tuple(answers), sequences, timed)
    return replace(found, evidence=replace(found.evidence, own=view))


def known_steps(prepared: Prepared, settings: SaccadeSettings) -> tuple[TargetSteps | None, bool]:
    """The steps of the target, and whether their times were recorded rather than found."""
    steps = target_steps(prepared.trial)
    if steps is None or steps.timed:
        return steps, True
    hold = number(prepared.trial.stimulus, "hold_s")
    calibration = prepared.settings.battery.calibration
    found = with_times(steps, prepared.recording, hold if hold > 0 else None, calibration)
    if found is None:
        return None, False
    early = settings.usual_latency_s
    return replace(found, start_s=found.start_s - early, stop_s=found.stop_s - early), False


def no_saccade(make: Maker, why: str) -> list[Measure]:
    """The measures of a saccade trial that shows nothing."""
    ways = [
        make(name, NOTHING, unit, of=way, why=(why,)) for way in WAYS[0] for name, unit in NAMES
    ]
    return [*missing(make, list(NAMES), why), *ways]


def found_answers(
    prepared: Prepared, steps: TargetSteps, settings: SaccadeSettings
) -> list[Answer]:
    """The answer to every jump, with its peaks; jumps of a plane without an eye are left out."""
    planes: Sequence[Tracked | None] = (prepared.horizontal, prepared.vertical)
    off = [off_target_deg(t.trace, steps, i) if t else 0.0 for i, t in enumerate(planes)]
    answers = []
    for jump in jumps_of(steps, settings):
        tracked = planes[jump.plane]
        if tracked is not None:
            answers.append(answer_to(jump, tracked.trace, off[jump.plane], settings))
    return with_peaks(answers, prepared.recording, settings)


def with_peaks(
    answers: list[Answer], recording: Recording, settings: SaccadeSettings
) -> list[Answer]:
    """The answers with the peak speed of each eye, and of their mean as ``both``."""
    if recording.sampling_hz < settings.sampling_min_hz:
        return answers
    width = blur_s(recording, settings)
    found = list(answers)
    for plane, letter in enumerate("hv"):
        eyes = {
            side: velocity
            for side in ("right", "left")
            if (velocity := velocity_of(recording, f"eye_{letter}_{side}", settings.peak_filter_s))
            is not None
        }
        for index, answer in enumerate(found):
            if answer.jump.plane == plane and np.isfinite(answer.amplitude_deg):
                peaks = {
                    side: peak_speed(velocity, recording.time_s, answer, width)
                    for side, velocity in eyes.items()
                }
                known = [peak for peak in peaks.values() if np.isfinite(peak)]
                peaks["both"] = float(np.mean(known)) if known else float("nan")
                found[index] = replace(answer, peak_deg_s=peaks)
    return found


def _trial_reasons(answers: list[Answer], settings: SaccadeSettings) -> tuple[str, ...]:
    seen = [a for a in answers if a.verdict != "unseen"]
    lost = sum(a.verdict != "answered" for a in seen)
    why = []
    if any(a.verdict == "anticipated" for a in seen):
        why.append("anticipations_left_out")
    if lost > settings.missed_share * len(seen):
        why.append("targets_missed")
    return tuple(why)


def _sequences(answers: list[Answer], settings: SaccadeSettings) -> dict[str, MainSequence]:
    """The main sequence of each way that has enough saccades, and of ``all`` together."""
    found = {}
    for way in ("all", *sum(WAYS, ())):
        own = [a for a in _answered(answers) if way in ("all", a.jump.way)]
        peaks = np.array([a.peak_deg_s.get("both", np.nan) for a in own])
        sizes = np.abs([a.amplitude_deg for a in own])
        known = np.isfinite(peaks)
        sequence = main_sequence(sizes[known], peaks[known], settings) if known.any() else None
        if sequence is not None:
            found[way] = sequence
    return found


def _answered(answers: Sequence[Answer]) -> list[Answer]:
    return [answer for answer in answers if answer.verdict == "answered"]


def of_way(
    make: Maker,
    way: str | None,
    chosen: list[Answer],
    sequence: MainSequence | None,
    settings: SaccadeSettings,
    *,
    timed: bool,
) -> list[Measure]:
    """Latency, accuracy, peak velocity and the ratio of the eyes, for one way or for all."""
    own = _answered(chosen)
    if not own:
        none = [make(name, NOTHING, unit, of=way, why=("no_saccades",)) for name, unit in NAMES]
        return [*none, make("velocity_ratio", NOTHING, "1", of=way, why=("no_saccades",))]
    few = ("few_answers",) if len(own) < settings.answers_min else ()
    late_s = np.array([a.latency_s for a in own])
    latency = centre(1000.0 * late_s, settings)
    rough = few or roughly(1000.0 * median_error(late_s), settings.latency_rough_ms)
    shares = [100.0 * a.amplitude_deg / a.error_deg for a in own]
    return [
        make("latency", latency, "ms", of=way, definition=TO_TARGET, why=rough)
        if timed
        else make(
            "latency", NOTHING, "ms", of=way, definition=TO_TARGET, why=("target_not_timed",)
        ),
        make("accuracy", centre(np.array(shares), settings), "%", of=way, why=few),
        _peak_velocity(make, way, own, sequence, settings),
        _velocity_ratio(make, way, own, settings),
    ]


def centre(values: FloatArray, settings: SaccadeSettings) -> Estimate:
    """The median with the interval of a mean, widened to that of a median."""
    value = float(np.median(values))
    if values.size < settings.answers_min:
        return Estimate(value)
    return symmetric(value, median_error(values), t_quantile(values.size - 1))


def _peak_velocity(
    make: Maker,
    way: str | None,
    own: list[Answer],
    sequence: MainSequence | None,
    settings: SaccadeSettings,
) -> Measure:
    """Peak velocity at the reference amplitude by the main sequence."""
    definition = f"main_sequence_{settings.reference_deg:g}_deg"
    if sequence is not None:
        found = sequence.at(settings.reference_deg)
        return make("peak_velocity", found, "deg/s", of=way, definition=definition)
    why = "few_saccades_for_velocity" if own[0].peak_deg_s else "sampled_too_slowly"
    return make("peak_velocity", NOTHING, "deg/s", of=way, definition=definition, why=(why,))


def _velocity_ratio(
    make: Maker, way: str | None, own: list[Answer], settings: SaccadeSettings
) -> Measure:
    """Peak speed of the right eye over that of the left one, for the same saccades."""
    pairs = [(a.peak_deg_s.get("right", np.nan), a.peak_deg_s.get("left", np.nan)) for a in own]
    ratios = np.array([right / left for right, left in pairs])
    ratios = ratios[np.isfinite(ratios)]
    if ratios.size:
        few = ("few_answers",) if ratios.size < settings.answers_min else ()
        return make("velocity_ratio", centre(ratios, settings), "1", of=way, why=few)
    why = "eye_not_seen" if own[0].peak_deg_s else "sampled_too_slowly"
    return make("velocity_ratio", NOTHING, "1", of=way, why=(why,))


def _counts(make: Maker, answers: list[Answer]) -> list[Measure]:
    """How many jumps were answered, anticipated, missed, or not seen."""
    names = {
        "saccades": "answered",
        "anticipations": "anticipated",
        "missed": "missed",
        "unseen": "unseen",
    }
    counts = {name: float(sum(a.verdict == v for a in answers)) for name, v in names.items()}
    return [make(name, Estimate(n, n, n), "1") for name, n in counts.items()]
