"""The trials of one session measured: one by one, as those of one patient, in pairs and groups."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from slowphase.eye.settings import EyeSettings
from slowphase.measures.conditions import with_conditions
from slowphase.measures.fixation import pair_fixation
from slowphase.measures.interval import Maker
from slowphase.measures.kind import groups_of, kind_of
from slowphase.measures.prepare import Prepared, blank, of_the_drowsy, prepare, result
from slowphase.measures.repeats import firsts
from slowphase.measures.result import GroupResult, PairResult, Quality, TrialResult
from slowphase.measures.session_cautions import doubted, groups_to_scale, with_session_cautions
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.step_sides import pair_sides
from slowphase.measures.suppression import pair_suppression
from slowphase.recording.eyes import is_alive
from slowphase.recording.trial import Trial

Measured = tuple[Prepared | None, TrialResult]
Again = Callable[[Prepared | None, TrialResult, EyeSettings], TrialResult]

UNUSABLE = "no_usable_recording"
WEAKENED = ("caloric", "optokinetic")  # no chair shows lapses in them, but they are as weak
NOT_YET = "not_measured_yet"
NOT_MEASURED = {"not done": "not_done", "set aside": "set_aside"}  # outcome: its reason
SHOWN_ONLY = ("head-shaking",)
PAIRS = (pair_fixation, pair_suppression, pair_sides)


def measure_trial(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Everything one trial says; a trial without a usable recording keeps its place, unmeasured."""
    return measured(trial, eye, settings)[1]


def measured(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> Measured:
    """The result of one trial, and its tracked eyes where it was measured from them."""
    kind, turned = kind_of(trial.kind), in_degrees(trial)
    if kind is not None and kind.of_trial is not None:
        alone = trial.recording is None and needs_recording(trial)
        return None, unmeasured(trial) if alone else kind.of_trial(turned, eye, settings)
    prepared = prepare(turned, eye, settings)
    if prepared is None:
        return None, unmeasured(trial, "no_horizontal_eye" if only_vertical(trial) else UNUSABLE)
    return prepared, measure_prepared(prepared, eye)


def in_degrees(trial: Trial) -> Trial:
    """The trial less channels that no calibration has turned into degrees, unless it is one."""
    recording = trial.recording
    if trial.kind == "calibration" or recording is None or not recording.raw_units:
        return trial
    from slowphase.eye.calibration import to_degrees

    return replace(trial, recording=to_degrees(recording, {}))


def only_vertical(trial: Trial) -> bool:
    """Whether a vertical eye moves, and no horizontal one does, in any unit.

    A horizontal channel that only lacks a calibration is another fault, which the session tells.
    """
    channels = trial.recording.channels if trial.recording else {}
    sides = ("right", "left") if trial.eye == "both" else (trial.eye,)
    across, up = (
        any(role in channels and is_alive(channels[role]) for role in (f"{eye}_{s}" for s in sides))
        for eye in ("eye_h", "eye_v")
    )
    return up and not across


def needs_recording(trial: Trial) -> bool:
    """Whether a trial of this kind and outcome has samples: typed values have none."""
    return trial.kind != "values" or trial.outcome in NOT_MEASURED


def measure_prepared(prepared: Prepared, eye: EyeSettings) -> TrialResult:
    """Everything one trial says by itself.

    Sets ``not_measured_yet`` for a test that is only shown, so that nobody takes it for measured.
    """
    kind = kind_of(prepared.trial.kind)
    shown = (NOT_YET,) if prepared.trial.kind in SHOWN_ONLY else ()
    found = kind.measure(prepared) if kind and kind.measure else result(prepared, [], why=shown)
    return with_conditions(found, prepared, eye)


def measure_trials(
    trials: Sequence[Trial],
    eye: EyeSettings,
    settings: MeasureSettings,
    *,
    progress: Callable[[str], None] | None = None,
) -> tuple[TrialResult, ...]:
    """The trials of one session, one after the other and then as those of one patient.

    ``progress`` is called with the id of each trial before it is measured.
    """
    found: list[Measured] = []
    for trial in trials:
        if progress:
            progress(trial.id)
        found.append(measured(trial, eye, settings))
    return of_one_session(found, eye)


def of_one_session(
    found: Sequence[Measured], eye: EyeSettings, *, again: Again | None = None
) -> tuple[TrialResult, ...]:
    """The results of one session's trials as those of one patient, with the session's cautions.

    ``again`` measures a trial anew, as that of a drowsy patient (`of_one_drowsy`).
    """
    return with_session_cautions(as_one_patient(found, eye, again=again or of_one_drowsy))


def as_one_patient(
    found: Sequence[Measured], eye: EyeSettings, *, again: Again
) -> tuple[TrialResult, ...]:
    """The results of one session, where a lapse in one trial tells of the patient in the others.

    Responses in which no lapse was seen are then measured anew, as those of a drowsy patient;
    those of other tests that alertness weakens carry ``lapses_may_weaken``.
    """
    if not any(lapsed(single) for _, single in found):
        return tuple(single for _, single in found)
    return tuple(again(prepared, single, eye) for prepared, single in found)


def of_one_drowsy(prepared: Prepared | None, single: TrialResult, eye: EyeSettings) -> TrialResult:
    """One result as that of a patient who was drowsy in another trial."""
    if single.kind in WEAKENED:
        return doubted(single, "lapses_may_weaken")
    if prepared is not None and may_waver(single):
        return measure_prepared(of_the_drowsy(prepared), eye)
    return single


def lapsed(result: TrialResult) -> bool:
    """Whether alertness was seen to lapse in a trial."""
    return result.quality is not None and "lapses_left_out" in result.quality.why


def may_waver(result: TrialResult) -> bool:
    """Whether a trial has a response, and one that showed no lapse."""
    kind = kind_of(result.kind)
    return kind is not None and kind.wavers and not lapsed(result)


def unmeasured(trial: Trial, why: str = UNUSABLE) -> TrialResult:
    """The result of a trial without samples: each measure of its kind is present and missing."""
    why = NOT_MEASURED.get(trial.outcome, why)
    kind = kind_of(trial.kind)
    if kind is None and (trial.outcome in NOT_MEASURED or trial.file is None):
        return blank(trial, None)
    measures = kind.nothing(Maker(trial.id), why) if kind else []
    return replace(blank(trial, Quality(0.0, "unusable", (why,))), measures=tuple(measures))


def measure_pairs(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Everything that two trials say together; repeats take part through the trial they repeat."""
    once = firsts(results)
    return tuple(pair for find in PAIRS for pair in find(once, settings))


def measure_groups(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """Everything that all trials of one test say together, such as four irrigations."""
    once = firsts(results)
    groups = tuple(group for find in groups_of(once) for group in find(once, settings))
    return groups_to_scale(groups, once)
