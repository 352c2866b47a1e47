"""What the measurement of one trial or one pair of trials returns."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from slowphase.eye.trace import EyeTrace
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import reasons
from slowphase.measures.measure import Grade, Measure
from slowphase.measures.two_directions import Carried


@dataclass(frozen=True, slots=True)
class Quality:
    """How good the recording of one trial is; a number is None where it cannot be had.

    ``noise_deg`` is the white noise of eye position (SD), ``smallest_quick_phase_deg`` the
    smallest quick phase that stands out of it. ``quick_phase_speed`` is the median speed of quick
    phases as a share of an alert eye's main sequence, with its standard error.
    ``eye_gain_difference`` is left less right as a share of their mean, ``eye_step_deg`` a lasting
    change of their distance. ``roving_deg_s`` is the root mean square of slow pendular movements,
    ``strength_change`` a lasting jump of the response as a share of it; both 0 for none.
    """

    usable_pct: float
    grade: Grade
    why: tuple[str, ...] = ()
    noise_deg: float | None = None
    smallest_quick_phase_deg: float | None = None
    quick_phases_per_s: float | None = None
    quick_phase_speed: float | None = None
    quick_phase_speed_error: float | None = None
    eye_gain_difference: float | None = None
    eye_step_deg: float | None = None
    roving_deg_s: float | None = None
    strength_change: float | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """The samples behind a trial's measures, for pictures and audits.

    ``fit_deg_s`` is the fitted slow-phase velocity at every sample (None where nothing was
    fitted); ``head_velocity_deg_s`` the chair; ``vertical`` the vertical trace where it was
    measured. ``own`` is what only one kind of test has (impulses, jumps of a target), for its own
    picture: a value of that kind's module.
    """

    horizontal: EyeTrace
    head_velocity_deg_s: FloatArray | None = None
    fit_deg_s: FloatArray | None = None
    vertical: EyeTrace | None = None
    own: object | None = None


@dataclass(frozen=True, slots=True)
class TrialResult:
    """Everything measured on one trial.

    ``parts`` names the trials whose samples went in; ``carried`` is what the session's fit takes
    from it (None where nothing was fitted).
    """

    id: str
    kind: str
    vision: str | None
    stimulus: Mapping[str, object]
    outcome: str
    reason: str | None
    quality: Quality | None
    measures: tuple[Measure, ...] = ()
    evidence: Evidence | None = None
    parts: tuple[str, ...] = ()
    carried: Carried | None = None


@dataclass(frozen=True, slots=True)
class PairResult:
    """What two trials say together: ``suppression`` of a dark and a fixation trial."""

    kind: str
    dark: str
    fixation: str
    measures: tuple[Measure, ...] = ()
    conditions: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GroupResult:
    """What all trials of one test say together, such as four irrigations.

    ``kind`` is the kind of test, ``trials`` are the ids of those that took part, in the session's
    order. Ids of its measures begin with ``id``; ``conditions`` are what a reference must fit.
    """

    id: str
    kind: str
    trials: tuple[str, ...]
    measures: tuple[Measure, ...] = ()
    conditions: Mapping[str, float] = field(default_factory=dict)


def find(
    result: TrialResult, name: str, of: str | None = None, *, usable: bool = True
) -> Measure | None:
    """The measure of that name and part that has a value, and one that may be used.

    With ``usable`` False one that is graded unusable is found, too.
    """
    same = (m for m in result.measures if (m.name, m.of) == (name, of) and m.value is not None)
    return next((m for m in same if not usable or m.grade != "unusable"), None)


def why_unusable(
    results: Iterable[TrialResult], name: str, of: str | None = None
) -> tuple[str, ...]:
    """Why measures that have a value may not be used: the reasons that make them unusable."""
    found = (find(result, name, of, usable=False) for result in results)
    return tuple(dict.fromkeys(code for m in found if m for code in unusable_codes(m)))


def unusable_codes(measure: Measure) -> tuple[str, ...]:
    """Those of a measure's reasons that make it unusable."""
    return tuple(code for code in measure.why if reasons()[code].grade == "unusable")
