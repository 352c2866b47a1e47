"""What of an entry fits a measure, what does not, and both in words."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.measures.measure import Measure
from slowphase.recording.session import Patient
from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.sets import marks

PEAK_TOLERANCE = 0.1
ADULT_YEARS = 18.0


@dataclass(frozen=True, slots=True)
class Subject:
    """What a reference must fit: a measure, how it was taken, and of whom."""

    measure: Measure
    kind: str
    vision: str | None
    stimulus: Mapping[str, object]
    patient: Patient
    recording: str | None = None
    alerting: str | None = None


def same_measure(entry: ReferenceEntry, subject: Subject) -> bool:
    """Whether the entry holds this measure at all: name, kind, unit, part, vision, frequency."""
    measure = subject.measure
    return (
        entry.measure == measure.name
        and entry.kind == subject.kind
        and entry.unit == measure.unit
        and entry.vision in (None, subject.vision)
        and entry.of in (None, measure.of)
        and _frequency_fits(entry, subject.stimulus.get("frequency_hz"))
    )


def misfits(
    entry: ReferenceEntry, subject: Subject, ages: tuple[float, float] | None = None
) -> tuple[str, ...]:
    """What of the same measure differs, in words; empty when the entry fits.

    ``ages`` are those of the entry's whole set, for the words (the entry's own when None).
    """
    return tuple(
        _say("lacks", code, **parts)
        for found in (
            _definition(entry, subject), _peak(entry, subject),
            _age(entry, subject, ages or entry.ages), _sex(entry, subject),
            _recording(entry, subject),
        )
        for code, parts in found
    )  # fmt: skip


def withheld(entry: ReferenceEntry, *, allowed: bool) -> tuple[str, ...]:
    """Why an entry is not used although it may fit: not comparable, or a mark not ``allowed``."""
    why = []
    if entry.not_placed:
        why.append(_say("lacks", "not_placed", there=entry.not_placed))
    if not allowed:
        why.append(_say("lacks", "mark", there=marks()[entry.mark].text))
    return tuple(why)


def why_fitting(entry: ReferenceEntry, subject: Subject, place: int | None) -> tuple[str, ...]:
    """Why an entry was chosen, in words; ``place`` is its place in the clinic's order (from 1)."""
    parts = {
        "names": "",
        "definition": entry.definition,
        "frequency": _span(entry.frequencies_hz, 3),
        "peak_velocity": _number(entry.peak_velocity_deg_s),
        "age": _span(entry.ages),
        "sex": entry.sex,
        "recording": entry.recording,
        "preference": place,
    }
    told = (_say("why", code, there=str(p)) for code, p in parts.items() if p is not None)
    return (*told, *_alerting(entry, subject))


def likeness(entry: ReferenceEntry, subject: Subject) -> int:
    """How the alerting compares: 0 the same, 1 not known, 2 another."""
    if entry.alerting is None or subject.alerting is None:
        return 1
    return 0 if entry.alerting.casefold() == subject.alerting.casefold() else 2


def outranked(
    entry: ReferenceEntry, chosen: ReferenceEntry, subject: Subject, *, preferred: bool
) -> str:
    """Why an entry that fits was not chosen, in words."""
    ranks = marks()
    if preferred:
        return _say("lacks", "preference", chosen=chosen.set)
    if ranks[entry.mark].rank > ranks[chosen.mark].rank:
        texts = {"there": ranks[entry.mark].text, "asked": ranks[chosen.mark].text}
        return _say("lacks", "rank", **texts)
    if len(entry.unstated) > len(chosen.unstated):
        return _say("lacks", "unstated", there=", ".join(entry.unstated))
    if likeness(entry, subject) > likeness(chosen, subject):
        return _say("lacks", "alerting")
    return _say("lacks", "smaller" if (entry.n or 0) < (chosen.n or 0) else "order")


def age_range(ages: tuple[float, float]) -> str:
    """``20–59 years``."""
    return f"{ages[0]:g}–{ages[1]:g} years"


Misfit = Iterator[tuple[str, Mapping[str, str]]]


def _definition(entry: ReferenceEntry, subject: Subject) -> Misfit:
    asked = subject.measure.definition
    if entry.definition not in (None, asked):
        yield "definition", {"there": str(entry.definition), "asked": asked or "none"}


def _peak(entry: ReferenceEntry, subject: Subject) -> Misfit:
    peak, there = subject.stimulus.get("peak_velocity_deg_s"), entry.peak_velocity_deg_s
    if there is None:
        return
    if not isinstance(peak, int | float):
        yield "peak_velocity_unknown", {"there": f"{there:g}"}
    elif abs(peak / there - 1.0) > PEAK_TOLERANCE:
        yield "peak_velocity", {"there": f"{there:g}", "asked": f"{peak:g}"}


def _age(entry: ReferenceEntry, subject: Subject, told: tuple[float, float] | None) -> Misfit:
    age = subject.patient.age_years
    if entry.ages is None:
        if age is not None and age < ADULT_YEARS:
            yield "child", {}
    elif age is None:
        yield "age_unknown", {"there": age_range(told or entry.ages)}
    elif not entry.ages[0] <= int(age) <= entry.ages[1]:
        yield "age", {"there": age_range(told or entry.ages)}


def _sex(entry: ReferenceEntry, subject: Subject) -> Misfit:
    sex = subject.patient.sex
    if entry.sex not in (None, sex):
        yield "sex_unknown" if sex == "unknown" else "sex", {"there": str(entry.sex)}


def _recording(entry: ReferenceEntry, subject: Subject) -> Misfit:
    if entry.recording not in (None, subject.recording):
        code = "recording_unknown" if subject.recording is None else "recording"
        yield code, {"there": str(entry.recording)}


def _alerting(entry: ReferenceEntry, subject: Subject) -> Iterator[str]:
    if entry.alerting is not None:
        code = ("alerting_same", "alerting_silent", "alerting_other")[likeness(entry, subject)]
        yield _say("why", code, there=entry.alerting, asked=str(subject.alerting))


def _frequency_fits(entry: ReferenceEntry, frequency_hz: object) -> bool:
    if entry.frequencies_hz is None:
        return True
    low, high = entry.frequencies_hz
    return isinstance(frequency_hz, int | float) and low <= frequency_hz <= high


def _number(value: float | None) -> str | None:
    return None if value is None else f"{value:g}"


def _span(ends: tuple[float, float] | None, digits: int = 6) -> str | None:
    return None if ends is None else f"{ends[0]:.{digits}g}–{ends[1]:.{digits}g}"


def _say(group: str, code: str, **parts: str) -> str:
    return _words()[group][code].format(**parts)


@cache
def _words() -> Mapping[str, Mapping[str, str]]:
    return tomllib.loads((files(__package__) / "fit_words.toml").read_text(encoding="utf-8"))
