"""Which reference set fits a measure, and where the measure stands in it."""

from collections.abc import Iterable, Mapping, Sequence

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.recording.session import Patient
from slowphase.reference.method import recording_method
from slowphase.reference.normal import Z95, percentile, probability_outside
from slowphase.reference.placement import Placement
from slowphase.reference.sets import ReferenceEntry, marks, reference_sets

Conditions = Mapping[str, str | float]
Part = TrialResult | PairResult | GroupResult

DEFAULT_MARKS = ("local", "read", "computed", "practice")
PEAK_TOLERANCE = 0.1
ADULT_YEARS = 18.0


def place(
    measure: Measure,
    result: Part,
    patient: Patient,
    *,
    sets: Sequence[ReferenceEntry] | None = None,
    allowed: Sequence[str] = DEFAULT_MARKS,
    conditions: Conditions | None = None,
) -> Placement | None:
    """Where a measure stands in the best known set that fits it; None when none fits.

    A set fits when measure, kind, vision, definition, unit, frequency, age and, where it names one,
    recording method all do. A pair's frequency is read from its ``conditions["frequency_hz"]``;
    `place_all` finds it by itself. ``conditions`` are the session's. Sets marked ``memory`` are
    used only when ``allowed`` names them. What is unusable is not placed.
    """
    if measure.value is None or measure.grade == "unusable":
        return None
    stimulus = result.stimulus if isinstance(result, TrialResult) else result.conditions
    vision = result.vision if isinstance(result, TrialResult) else None
    fitting = candidates(measure, result.kind, vision, stimulus, patient, sets=sets)
    method = recording_method(conditions)
    usable = [
        entry
        for entry in fitting
        if entry.mark in allowed and not entry.not_placed and entry.recording in (None, method)
    ]
    return _placement(measure, usable[0]) if usable else None


def place_all(
    trials: Iterable[TrialResult],
    pairs: Iterable[PairResult],
    patient: Patient,
    conditions: Conditions | None = None,
    *,
    groups: Iterable[GroupResult] = (),
) -> dict[str, Placement]:
    """Placements of every measure of a session that has a fitting set, by the measure's id."""
    trials = tuple(trials)
    stimuli = {trial.id: trial.stimulus for trial in trials}
    paired = (_with_stimulus(pair, stimuli.get(pair.dark, {})) for pair in pairs)
    parts: tuple[Part, ...] = (*trials, *paired, *groups)
    found = {
        m.id: place(m, part, patient, conditions=conditions)
        for part in parts
        for m in part.measures
    }
    return {id_: placement for id_, placement in found.items() if placement is not None}


def candidates(
    measure: Measure,
    kind: str,
    vision: str | None,
    stimulus: Mapping[str, object],
    patient: Patient,
    *,
    sets: Sequence[ReferenceEntry] | None = None,
) -> list[ReferenceEntry]:
    """Every set that fits, the best known first; those not to be compared are included."""
    entries = reference_sets() if sets is None else sets
    fitting = [
        entry
        for entry in entries
        if _names_fit(entry, measure, kind, vision)
        and _stimulus_fits(entry, stimulus)
        and _age_fits(entry, patient.age_years)
    ]
    return sorted(fitting, key=lambda entry: marks()[entry.mark].rank)


def _names_fit(entry: ReferenceEntry, measure: Measure, kind: str, vision: str | None) -> bool:
    return (
        entry.measure == measure.name
        and entry.kind == kind
        and entry.unit == measure.unit
        and entry.vision in (None, vision)
        and entry.of in (None, measure.of)
        and entry.definition in (None, measure.definition)
    )


def _stimulus_fits(entry: ReferenceEntry, stimulus: Mapping[str, object]) -> bool:
    return _frequency_fits(entry, stimulus.get("frequency_hz")) and _peak_fits(
        entry, stimulus.get("peak_velocity_deg_s")
    )


def _frequency_fits(entry: ReferenceEntry, frequency_hz: object) -> bool:
    if entry.frequencies_hz is None:
        return True
    low, high = entry.frequencies_hz
    return isinstance(frequency_hz, int | float) and low <= frequency_hz <= high


def _peak_fits(entry: ReferenceEntry, peak_deg_s: object) -> bool:
    if entry.peak_velocity_deg_s is None:
        return True
    if not isinstance(peak_deg_s, int | float):
        return False
    return abs(peak_deg_s / entry.peak_velocity_deg_s - 1.0) <= PEAK_TOLERANCE


def _age_fits(entry: ReferenceEntry, age_years: float | None) -> bool:
    if entry.ages is None:
        return age_years is None or age_years >= ADULT_YEARS
    return age_years is not None and entry.ages[0] <= int(age_years) <= entry.ages[1]


def _with_stimulus(pair: PairResult, stimulus: Mapping[str, object]) -> PairResult:
    numbers = {key: float(v) for key, v in stimulus.items() if isinstance(v, int | float)}
    conditions = {**numbers, **pair.conditions}
    return PairResult(pair.kind, pair.dark, pair.fixation, pair.measures, conditions)


def _placement(measure: Measure, entry: ReferenceEntry) -> Placement:
    lower, upper = _limits(entry)
    return Placement(
        set=entry.set,
        percentile=_percentile(measure, entry),
        lower=lower,
        upper=upper,
        beyond_limit=_beyond(measure, lower, upper),
        mark=entry.mark,
        source=entry.source,
        note="; ".join(part for part in (_people(entry), entry.note) if part),
        n=entry.n,
        unstated=entry.unstated,
    )


def _people(entry: ReferenceEntry) -> str:
    """Who and what the set is about, and what it does not tell, in a few words."""
    who = (entry.population, *((f"n = {entry.n}",) if entry.n else ()), *entry.unstated)
    return "; ".join(who)


def _limits(entry: ReferenceEntry) -> tuple[float | None, float | None]:
    if entry.mean is None or entry.sd is None:
        return entry.lower, entry.upper
    return entry.mean - Z95 * entry.sd, entry.mean + Z95 * entry.sd


def _percentile(measure: Measure, entry: ReferenceEntry) -> float | None:
    if measure.value is None or entry.mean is None or entry.sd is None:
        return None
    return percentile(measure.value, entry.mean, entry.sd)


def _beyond(measure: Measure, lower: float | None, upper: float | None) -> float | None:
    if measure.value is None or measure.low is None or measure.high is None:
        return None
    return probability_outside(measure.value, measure.low, measure.high, lower, upper)
