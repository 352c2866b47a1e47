"""Which module measures which kind of trial. A new kind adds its file and one line here."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from slowphase.eye.calibration import to_degrees
from slowphase.eye.settings import EyeSettings
from slowphase.measures.calibration import measure_calibration, no_calibration
from slowphase.measures.caloric import measure_caloric, no_caloric
from slowphase.measures.caloric_group import group_calorics
from slowphase.measures.check import check_group, measure_check, no_check
from slowphase.measures.conditions import with_conditions
from slowphase.measures.fixating.measures import measure_rest
from slowphase.measures.fixation import pair_fixation
from slowphase.measures.gaze import measure_gaze, no_gaze
from slowphase.measures.gaze_group import group_gaze
from slowphase.measures.impulse.measure import measure_impulse, no_impulse
from slowphase.measures.impulse.together import group_impulses
from slowphase.measures.interval import Maker
from slowphase.measures.measure import Measure
from slowphase.measures.optokinetic.measures import measure_optokinetic, no_optokinetic
from slowphase.measures.optokinetic.sides import group_optokinetic
from slowphase.measures.positional import measure_positional, no_positional
from slowphase.measures.positional_group import group_positional
from slowphase.measures.prepare import Prepared, blank, of_the_drowsy, prepare, result
from slowphase.measures.pursuit import measure_pursuit, no_pursuit
from slowphase.measures.recheck import group_calibration
from slowphase.measures.repeats import firsts
from slowphase.measures.result import GroupResult, PairResult, Quality, TrialResult
from slowphase.measures.saccade.measures import measure_saccade, no_saccade
from slowphase.measures.session_cautions import with_session_cautions
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid_measures import measure_sinusoid, no_sinusoid
from slowphase.measures.spontaneous import no_spontaneous
from slowphase.measures.step_measures import measure_step, no_step
from slowphase.measures.step_sides import pair_sides
from slowphase.measures.suppression import pair_suppression
from slowphase.measures.values import measure_values, no_values
from slowphase.recording.trial import Trial

Group = Callable[[tuple[TrialResult, ...], MeasureSettings], tuple[GroupResult, ...]]


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of trial is measured, and which measures it has when there is nothing to see.

    ``measure`` takes tracked eyes and their slow phase. ``of_trial`` takes the trial itself, where
    something else counts (jumps of a target, impulses, typed values), a recording or none. One of
    both is given. ``wavers`` says whether it has a response to the chair, whose strength alertness
    makes waver.
    """

    nothing: Callable[[Maker, str], list[Measure]]
    measure: Callable[[Prepared], TrialResult] | None = None
    of_trial: Callable[[Trial, EyeSettings, MeasureSettings], TrialResult] | None = None
    wavers: bool = False


KINDS: Mapping[str, Kind] = {
    "spontaneous": Kind(no_spontaneous, measure_rest),
    "sinusoid": Kind(no_sinusoid, measure_sinusoid, wavers=True),
    "step": Kind(no_step, measure_step, wavers=True),
    "caloric": Kind(no_caloric, measure_caloric),
    "gaze": Kind(no_gaze, measure_gaze),
    "positional": Kind(no_positional, measure_positional),
    "check": Kind(no_check, of_trial=measure_check),
    "impulse": Kind(no_impulse, of_trial=measure_impulse),
    "values": Kind(no_values, of_trial=measure_values),
    # tests with targets and scenes
    "calibration": Kind(no_calibration, of_trial=measure_calibration),
    "pursuit": Kind(no_pursuit, measure_pursuit),
    "saccade": Kind(no_saccade, measure_saccade),
    "optokinetic": Kind(no_optokinetic, measure_optokinetic),
}
PAIRS = (pair_fixation, pair_suppression, pair_sides)
GROUPS: tuple[Group, ...] = (
    group_calibration,
    group_optokinetic,
    group_gaze,
    group_positional,
    group_calorics,
    group_impulses,
    check_group,
)


def measure_trial(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Everything one trial says; a trial without a usable recording keeps its place, unmeasured."""
    return measured(trial, eye, settings)[1]


def measured(
    trial: Trial, eye: EyeSettings, settings: MeasureSettings
) -> tuple[Prepared | None, TrialResult]:
    """The result of one trial, and its tracked eyes where it was measured from them."""
    kind = KINDS.get(trial.kind)
    trial = in_degrees(trial)
    if kind is not None and kind.of_trial is not None:
        alone = trial.recording is None and needs_recording(trial)
        return None, unmeasured(trial) if alone else kind.of_trial(trial, eye, settings)
    prepared = prepare(trial, eye, settings)
    if prepared is None:
        return None, unmeasured(trial)
    return prepared, measure_prepared(prepared, eye)


def in_degrees(trial: Trial) -> Trial:
    """The trial less channels that no calibration has turned into degrees, unless it is one."""
    recording = trial.recording
    if trial.kind == "calibration" or recording is None or not recording.raw_units:
        return trial
    return replace(trial, recording=to_degrees(recording, {}))


def needs_recording(trial: Trial) -> bool:
    """Whether a trial of this kind and outcome has samples: typed values have none."""
    return trial.kind != "values" or trial.outcome == "not done"


def measure_prepared(prepared: Prepared, eye: EyeSettings) -> TrialResult:
    """Everything one trial says by itself."""
    kind = KINDS.get(prepared.trial.kind)
    found = kind.measure(prepared) if kind and kind.measure else result(prepared, [])
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
    found: list[tuple[Prepared | None, TrialResult]] = []
    for trial in trials:
        if progress:
            progress(trial.id)
        found.append(measured(trial, eye, settings))
    return with_session_cautions(as_one_patient(found, eye))


def as_one_patient(
    found: Sequence[tuple[Prepared | None, TrialResult]], eye: EyeSettings
) -> tuple[TrialResult, ...]:
    """The results of one session, where a lapse in one trial tells of the patient in the others.

    Responses in which no lapse was seen are then measured anew, as those of a drowsy patient.
    """
    if not any(lapsed(single) for _, single in found):
        return tuple(single for _, single in found)
    return tuple(
        measure_prepared(of_the_drowsy(prepared), eye)
        if prepared is not None and may_waver(single)
        else single
        for prepared, single in found
    )


def lapsed(result: TrialResult) -> bool:
    """Whether alertness was seen to lapse in a trial."""
    return result.quality is not None and "lapses_left_out" in result.quality.why


def may_waver(result: TrialResult) -> bool:
    """Whether a trial has a response, and one that showed no lapse."""
    kind = KINDS.get(result.kind)
    return kind is not None and kind.wavers and not lapsed(result)


def unmeasured(trial: Trial) -> TrialResult:
    """The result of a trial without samples: each measure of its kind is present and missing."""
    why = "not_done" if trial.outcome == "not done" else "no_usable_recording"
    kind = KINDS.get(trial.kind)
    if kind is None and (trial.outcome == "not done" or trial.file is None):
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
    return tuple(group for find in GROUPS for group in find(once, settings))
