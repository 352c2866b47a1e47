"""Which reference set fits a measure, where the measure stands in it, and what others lack."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.recording.session import Patient
from slowphase.reference import fit
from slowphase.reference.fit import Subject
from slowphase.reference.library import References, shipped
from slowphase.reference.method import recording_method
from slowphase.reference.normal import probability_outside
from slowphase.reference.placement import Placement, RunnerUp
from slowphase.reference.sets import ReferenceEntry, marks, reference_sets
from slowphase.reference.standing import limits, quartiles, standing

Conditions = Mapping[str, str | float]
Part = TrialResult | PairResult | GroupResult

DEFAULT_MARKS = ("local", "read", "computed", "practice")


@dataclass(frozen=True, slots=True)
class Choice:
    """What was chosen for one measure: its place, None when no set fits, and the other sets."""

    placement: Placement | None
    runners_up: tuple[RunnerUp, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """The places of a session's measures by id, and of those without one what each set lacks."""

    placements: Mapping[str, Placement] = field(default_factory=dict)
    unplaced: Mapping[str, tuple[RunnerUp, ...]] = field(default_factory=dict)


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

    A set fits when measure, kind, vision, definition, unit, frequency and age do and, where it
    names one, peak velocity, sex and recording method. A pair's frequency is read from its
    ``conditions["frequency_hz"]``; `place_all` finds it by itself. ``conditions`` are the
    session's. Sets marked ``memory`` are used only when ``allowed`` names them. What is unusable
    is not placed.
    """
    if measure.value is None or measure.grade == "unusable":
        return None
    references = shipped() if sets is None else References(tuple(sets))
    return choose(subject_of(measure, result, patient, conditions), references, allowed).placement


def place_all(
    trials: Iterable[TrialResult],
    pairs: Iterable[PairResult],
    patient: Patient,
    conditions: Conditions | None = None,
    *,
    groups: Iterable[GroupResult] = (),
    references: References | None = None,
) -> dict[str, Placement]:
    """Placements of every measure of a session that has a fitting set, by the measure's id."""
    return dict(
        placed(trials, pairs, patient, conditions, groups=groups, references=references).placements
    )


def placed(
    trials: Iterable[TrialResult],
    pairs: Iterable[PairResult],
    patient: Patient,
    conditions: Conditions | None = None,
    *,
    groups: Iterable[GroupResult] = (),
    references: References | None = None,
) -> Placed:
    """Every usable measure of a session placed, or with what each set lacks for it."""
    library = references or shipped()
    chosen = {
        measure.id: choose(subject_of(measure, part, patient, conditions), library)
        for part in with_stimuli(trials, pairs, groups)
        for measure in part.measures
        if measure.value is not None and measure.grade != "unusable"
    }
    return Placed(
        {id_: c.placement for id_, c in chosen.items() if c.placement is not None},
        {id_: c.runners_up for id_, c in chosen.items() if not c.placement and c.runners_up},
    )


def with_stimuli(
    trials: Iterable[TrialResult], pairs: Iterable[PairResult], groups: Iterable[GroupResult]
) -> Iterator[Part]:
    """Trials, pairs and groups; a pair with the stimulus of its dark trial."""
    trials = tuple(trials)
    stimuli = {trial.id: trial.stimulus for trial in trials}
    yield from trials
    for pair in pairs:
        yield _with_stimulus(pair, stimuli.get(pair.dark, {}))
    yield from groups


def subject_of(
    measure: Measure, result: Part, patient: Patient, conditions: Conditions | None
) -> Subject:
    """What a reference must fit for this measure."""
    alerting = (conditions or {}).get("alerting")
    if isinstance(result, TrialResult):
        vision, stimulus = result.vision, result.stimulus
    else:
        vision, stimulus = None, result.conditions
    return Subject(
        measure,
        result.kind,
        vision,
        stimulus,
        patient,
        recording_method(conditions),
        str(alerting).strip() if alerting else None,
    )


def choose(
    subject: Subject, references: References, allowed: Sequence[str] = DEFAULT_MARKS
) -> Choice:
    """The set that fits best, and what every other set of the same measure lacks."""
    same = [entry for entry in references.entries if fit.same_measure(entry, subject)]
    reasons = {id(entry): _lacks(entry, subject, references, same, allowed) for entry in same}
    fitting = sorted(
        (entry for entry in same if not reasons[id(entry)]),
        key=lambda entry: _order(entry, subject, references),
    )
    if not fitting:
        return Choice(None, _runners_up(same, reasons))
    best = fitting[0]
    for entry in fitting[1:]:
        preferred = _place(entry, references) > _place(best, references)
        told = fit.outranked(entry, best, subject, preferred=preferred)
        reasons[id(entry)] = (told,)
    others = [entry for entry in (*fitting, *same) if entry.set != best.set]
    return Choice(_placement(subject, best, references, _runners_up(others, reasons)))


def candidates(
    measure: Measure,
    kind: str,
    vision: str | None,
    stimulus: Mapping[str, object],
    patient: Patient,
    *,
    sets: Sequence[ReferenceEntry] | None = None,
) -> list[ReferenceEntry]:
    """Every set that fits, the best known first; those not to be compared are included.

    The recording method is not asked for.
    """
    entries = reference_sets() if sets is None else sets
    found = []
    for entry in entries:
        subject = Subject(measure, kind, vision, stimulus, patient, entry.recording)
        if fit.same_measure(entry, subject) and not fit.misfits(entry, subject):
            found.append(entry)
    return sorted(found, key=lambda entry: marks()[entry.mark].rank)


def _lacks(
    entry: ReferenceEntry,
    subject: Subject,
    references: References,
    same: Sequence[ReferenceEntry],
    allowed: Sequence[str],
) -> tuple[str, ...]:
    asked_for = entry.mark in allowed or entry.set in references.prefer
    ages = _ages_of_set(e.ages for e in same if e.set == entry.set and e.sex == entry.sex)
    return (*fit.misfits(entry, subject, ages), *fit.withheld(entry, allowed=asked_for))


def _ages_of_set(groups: Iterable[tuple[float, float] | None]) -> tuple[float, float] | None:
    """From the youngest to the oldest of a set's groups."""
    known = [ages for ages in groups if ages is not None]
    return (min(a for a, _ in known), max(b for _, b in known)) if known else None


def _place(entry: ReferenceEntry, references: References) -> int:
    """The place in the clinic's order, from 0; behind all of them when it is not named."""
    prefer = references.prefer
    return prefer.index(entry.set) if entry.set in prefer else len(prefer)


def _order(entry: ReferenceEntry, subject: Subject, references: References) -> tuple[object, ...]:
    return (
        _place(entry, references),
        marks()[entry.mark].rank,
        len(entry.unstated),
        fit.likeness(entry, subject),
        -(entry.n or 0),
        entry.set,
    )


def _runners_up(
    entries: Iterable[ReferenceEntry], reasons: Mapping[int, tuple[str, ...]]
) -> tuple[RunnerUp, ...]:
    """Each set once, by the group of it that lacks least; in the order given."""
    best: dict[str, RunnerUp] = {}
    for entry in entries:
        lacks = reasons[id(entry)]
        if entry.set not in best or len(lacks) < len(best[entry.set].lacks):
            best[entry.set] = RunnerUp(entry.set, entry.mark, lacks)
    return tuple(best.values())


def _with_stimulus(pair: PairResult, stimulus: Mapping[str, object]) -> PairResult:
    numbers = {key: float(v) for key, v in stimulus.items() if isinstance(v, int | float)}
    conditions = {**numbers, **pair.conditions}
    return PairResult(pair.kind, pair.dark, pair.fixation, pair.measures, conditions)


def _placement(
    subject: Subject, entry: ReferenceEntry, references: References, others: tuple[RunnerUp, ...]
) -> Placement:
    measure, age = subject.measure, subject.patient.age_years
    ends = limits(entry, age)
    stands = standing(float(measure.value or 0.0), entry, age)
    named = entry.set in references.prefer
    return Placement(
        set=entry.set,
        percentile=stands.percentile,
        lower=ends.lower,
        upper=ends.upper,
        beyond_limit=_beyond(measure, ends.lower, ends.upper),
        mark=entry.mark,
        source=entry.source,
        note="; ".join(part for part in (_people(entry), entry.note) if part),
        n=entry.n,
        unstated=entry.unstated,
        z=stands.z,
        below=stands.below,
        above=stands.above,
        between=ends.between,
        quartiles=quartiles(entry, age),
        why=fit.why_fitting(entry, subject, _place(entry, references) + 1 if named else None),
        runners_up=others,
    )


def _people(entry: ReferenceEntry) -> str:
    """Who and what the set is about, and what it does not tell, in a few words."""
    who = (entry.population, *((f"n = {entry.n}",) if entry.n else ()), *entry.unstated)
    return "; ".join(who)


def _beyond(measure: Measure, lower: float | None, upper: float | None) -> float | None:
    if measure.value is None or measure.low is None or measure.high is None:
        return None
    return probability_outside(measure.value, measure.low, measure.high, lower, upper)
