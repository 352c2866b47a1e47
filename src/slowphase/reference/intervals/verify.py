"""Does a published interval fit the clinic's own healthy people? Twenty of them decide."""

from collections.abc import Sequence
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.recording.session import Patient
from slowphase.reference import fit
from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.fit import Subject
from slowphase.reference.intervals.healthy import Collected, HealthySession, Sample, collect
from slowphase.reference.standing import CENTRAL, limits

PEOPLE, ACCEPT, REJECT = 20, 2, 5  # at least 20: read; 2 and 5: from memory (EP28)


@dataclass(frozen=True, slots=True)
class Tested:
    """One person: the value, the limits at that age, and whether it lies outside them."""

    person: str
    value: float
    lower: float
    upper: float

    @property
    def outside(self) -> bool:
        """Strictly beyond a limit, on unrounded values."""
        return self.value < self.lower or self.value > self.upper


@dataclass(frozen=True, slots=True)
class Verification:
    """One entry's verdict, a code of ``words.toml``, and the people that it rests on, by round."""

    entry: ReferenceEntry
    verdict: str
    rounds: tuple[tuple[Tested, ...], ...] = ()
    fitting: int = 0

    @property
    def outside(self) -> tuple[int, ...]:
        """How many of each round's twenty lie outside."""
        return tuple(sum(person.outside for person in people) for people in self.rounds)


def verify(
    entries: Sequence[ReferenceEntry], sessions: Sequence[HealthySession]
) -> tuple[Verification, ...]:
    """The verdict on every entry; groups of one measure by age are judged together.

    Each person counts once, the first twenty by date, then as given; the next twenty only where
    the first leave it open. Entries that are not to be compared are left out.
    """
    collected = collect(sessions)
    ordered: dict[tuple[object, ...], list[ReferenceEntry]] = {}
    for entry in entries:
        if not entry.not_placed:
            same = (entry.measure, entry.kind, entry.of, entry.vision, entry.definition,
                    entry.frequencies_hz, entry.peak_velocity_deg_s, entry.recording)  # fmt: skip
            ordered.setdefault(same, []).append(entry)
    return tuple(_verified(group, collected) for group in ordered.values())


def verdict(outside: Sequence[int]) -> str:
    """``accept``, ``repeat`` or ``reject`` from the numbers outside in one or two rounds."""
    if outside[0] <= ACCEPT:
        return "accept"
    if outside[0] >= REJECT:
        return "reject"
    if len(outside) == 1:
        return "repeat"
    return "accept" if outside[1] <= ACCEPT else "reject"


def _verified(group: Sequence[ReferenceEntry], collected: Collected) -> Verification:
    if any(limits(entry, _some_age(entry)).between != CENTRAL for entry in group):
        return Verification(group[0], "no_interval")
    people = [
        tested for sample in collected.samples for tested in _tested(group, sample, collected)
    ]
    if len(people) < PEOPLE:
        return Verification(group[0], "too_few", fitting=len(people))
    rounds = (tuple(people[:PEOPLE]), tuple(people[PEOPLE : 2 * PEOPLE]))
    complete = rounds if len(rounds[1]) == PEOPLE else rounds[:1]
    counts = [sum(person.outside for person in found) for found in complete]
    used = complete if ACCEPT < counts[0] < REJECT else complete[:1]
    return Verification(group[0], verdict(counts[: len(used)]), used, len(people))


def _tested(group: Sequence[ReferenceEntry], sample: Sample, collected: Collected) -> list[Tested]:
    sessions = {session.person: session for session in collected.sessions}
    found = []
    for value in sample.values:
        session = sessions[value.person]
        subject = _subject(sample, session, value.value)
        fitting = (e for e in group if fit.same_measure(e, subject) and not fit.misfits(e, subject))
        entry = next(fitting, None)
        if entry is not None:
            ends = limits(entry, value.age_years)
            if ends.lower is not None and ends.upper is not None:
                found.append(Tested(value.person, value.value, ends.lower, ends.upper))
    return found


def _subject(sample: Sample, session: HealthySession, value: float) -> Subject:
    key = sample.key
    measure = Measure(key.measure, key.measure, value, None, None, key.unit, key.definition, key.of)
    stimulus = {
        "frequency_hz": key.frequency_hz, "peak_velocity_deg_s": key.peak_velocity_deg_s
    }  # fmt: skip
    patient = Patient(session.person, session.age_years, session.sex)
    return Subject(
        measure, key.kind, key.vision, stimulus, patient, session.recording, session.alerting
    )


def _some_age(entry: ReferenceEntry) -> float | None:
    return entry.ages[0] if entry.ages else None
