"""Values of healthy people, sorted by what they are values of."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.recording.session import Patient
from slowphase.reference.fit import PEAK_TOLERANCE
from slowphase.reference.method import recording_method
from slowphase.reference.select import subject_of, with_stimuli
from slowphase.reference.set_file import FREQUENCY_TOLERANCE


@dataclass(frozen=True, slots=True)
class MeasureKey:
    """What a value is a value of: only equal ones are put together."""

    measure: str
    kind: str
    unit: str
    of: str | None = None
    vision: str | None = None
    definition: str | None = None
    frequency_hz: float | None = None
    peak_velocity_deg_s: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One measure of one session: its id there, what it is, its value (None: not usable)."""

    id: str
    key: MeasureKey
    value: float | None
    grade: str = "sound"


@dataclass(frozen=True, slots=True)
class HealthySession:
    """One session of a healthy person: a pseudonym, the day, and what was measured."""

    person: str
    readings: tuple[Reading, ...]
    age_years: float | None = None
    sex: str = "unknown"
    day: date | None = None
    recording: str | None = None
    alerting: str | None = None


@dataclass(frozen=True, slots=True)
class HealthyValue:
    """One person's value."""

    person: str
    value: float
    age_years: float | None = None
    sex: str = "unknown"
    grade: str = "sound"


@dataclass(frozen=True, slots=True)
class Apart:
    """What was not counted, and why: a code of ``words.toml``."""

    person: str
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Sample:
    """The values of one measure, one for each person."""

    key: MeasureKey
    values: tuple[HealthyValue, ...]


@dataclass(frozen=True, slots=True)
class Collected:
    """Every sample, and everything that was kept apart."""

    samples: tuple[Sample, ...]
    apart: tuple[Apart, ...] = ()
    sessions: tuple[HealthySession, ...] = ()


def healthy_session(
    trials: Iterable[TrialResult],
    pairs: Iterable[PairResult],
    groups: Iterable[GroupResult],
    patient: Patient,
    *,
    day: date | None,
    conditions: Mapping[str, str | float],
) -> HealthySession:
    """The readings of one analysed session; measures without a value or unusable have none."""
    readings = []
    for part in with_stimuli(trials, pairs, groups):
        for measure in part.measures:
            about = subject_of(measure, part, patient, conditions)
            key = MeasureKey(
                measure.name, part.kind, measure.unit, measure.of, about.vision,
                measure.definition, _number(about.stimulus.get("frequency_hz")),
                _number(about.stimulus.get("peak_velocity_deg_s")),
            )  # fmt: skip
            value = None if measure.grade == "unusable" else measure.value
            readings.append(Reading(measure.id, key, value, measure.grade))
    alerting = conditions.get("alerting")
    return HealthySession(
        patient.code, tuple(readings), patient.age_years, patient.sex, day,
        recording_method(conditions), str(alerting) if alerting else None,
    )  # fmt: skip


def collect(sessions: Sequence[HealthySession]) -> Collected:
    """One value for each person and measure: of the first session, and of the first such trial.

    A mean of several trials would look steadier than the one trial of a patient. Later sessions
    (by date, then as given), further trials and what is unusable are kept apart, and named.
    """
    ordered = sorted(sessions, key=lambda s: s.day or date.max)
    first: dict[str, HealthySession] = {}
    apart: list[Apart] = []
    for session in ordered:
        if session.person in first:
            apart.append(Apart(session.person, _day(session), "later_session"))
        first.setdefault(session.person, session)
    values: dict[MeasureKey, list[HealthyValue]] = {}
    keys = _together([r.key for s in first.values() for r in s.readings])
    for session in first.values():
        apart += _add(session, keys, values)
    samples = tuple(Sample(key, tuple(found)) for key, found in values.items())
    return Collected(samples, tuple(apart), tuple(first.values()))


def _add(
    session: HealthySession,
    keys: Mapping[MeasureKey, MeasureKey],
    values: dict[MeasureKey, list[HealthyValue]],
) -> Iterable[Apart]:
    seen = set()
    for reading in session.readings:
        if reading.value is None:
            yield Apart(session.person, reading.id, "unusable")
            continue
        key = keys[reading.key]
        if key in seen:
            yield Apart(session.person, reading.id, "further_trial")
            continue
        seen.add(key)
        values.setdefault(key, []).append(
            HealthyValue(
                session.person, reading.value, session.age_years, session.sex, reading.grade
            )
        )


def _together(keys: Iterable[MeasureKey]) -> dict[MeasureKey, MeasureKey]:
    """Each key with the first one whose stimulus is as near as a reference must be."""
    homes: dict[MeasureKey, MeasureKey] = {}
    by_name: dict[MeasureKey, list[MeasureKey]] = {}
    for key in sorted(set(keys), key=_stimulus):
        bare = replace(key, frequency_hz=None, peak_velocity_deg_s=None)
        near = (home for home in by_name.setdefault(bare, []) if _alike(home, key))
        home = next(near, key)
        if home is key:
            by_name[bare].append(key)
        homes[key] = home
    return homes


def _stimulus(key: MeasureKey) -> tuple[float, float]:
    return key.frequency_hz or 0.0, key.peak_velocity_deg_s or 0.0


def _alike(one: MeasureKey, other: MeasureKey) -> bool:
    return _near(one.frequency_hz, other.frequency_hz, FREQUENCY_TOLERANCE) and _near(
        one.peak_velocity_deg_s, other.peak_velocity_deg_s, PEAK_TOLERANCE
    )


def _near(one: float | None, other: float | None, tolerance: float) -> bool:
    if one is None or other is None:
        return one is other
    return one == other or abs(other / one - 1.0) <= tolerance


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _day(session: HealthySession) -> str:
    return session.day.isoformat() if session.day else "session without a date"
