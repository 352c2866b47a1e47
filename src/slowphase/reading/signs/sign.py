"""A sign: one plain question to a session, its answer as a chance, and the measures behind it.

A chance comes from the 95 % intervals of the measures and a limit of ``limits.toml``. A question
that nothing in the session answers stays open: its chance is None, and it counts neither way.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rule import evidence, plain
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import with_interval
from slowphase.reference.normal import probability_below


@dataclass(frozen=True, slots=True)
class Answer:
    """The chance (0–1) that a question is to be answered with yes; None where it stays open.

    ``shown`` is the number that decides it, as text; the first of the evidence where it is empty.
    """

    chance: float | None
    evidence: tuple[EvidenceItem, ...] = ()
    shown: str = ""


OPEN = Answer(None)


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign of a session: its code and words (``signs.toml``), the test it comes from, its answer.

    ``test`` is ``nystagmus``, ``rotation``, ``suppression``, ``calorics``, ``impulses``, ``eyes``
    or ``recording``: signs of one test are not independent of one another. ``shown`` is the number
    that decides it. ``measured`` is False where every value behind it has no interval.
    """

    code: str
    title: str
    test: str
    chance: float | None
    evidence: tuple[EvidenceItem, ...] = ()
    shown: str = ""
    measured: bool = True


def chance_below(limit: float, found: Pooled | None) -> float | None:
    """Chance that a pooled value lies below a limit; None where there is none."""
    if found is None:
        return None
    return probability_below(limit, found.value, found.low, found.high)


def chance_above(limit: float, found: Pooled | None) -> float | None:
    """Chance that a pooled value lies above a limit; None where there is none."""
    if found is None:
        return None
    return probability_below(-limit, -found.value, -found.high, -found.low)


def all_of(chances: Iterable[float | None]) -> float | None:
    """All at once: as likely as the least likely of them; open where one is open or none given."""
    known = list(chances)
    if not known or any(chance is None for chance in known):
        return None
    return min(chance for chance in known if chance is not None)


def any_of(chances: Iterable[float | None]) -> float | None:
    """At least one: as likely as the most likely of those that are known."""
    return max((chance for chance in chances if chance is not None), default=None)


def held(measures: Iterable[Measure], *codes: str) -> tuple[EvidenceItem, ...]:
    """Measures as evidence, each with every limit named; without a name alone."""
    table = limits()
    own = list(measures)
    if not codes:
        return tuple(evidence(measure) for measure in own)
    return tuple(evidence(measure, table[code]) for measure in own for code in codes)


def pooled(measures: Sequence[Measure | None]) -> Pooled | None:
    """The pooled value of those that are there."""
    return pool([measure for measure in measures if measure is not None])


def of_sides(measures: Mapping[str, Measure]) -> str:
    """What was measured on either side, by letter."""
    return ", ".join(f"{side[0].upper()} {plain(m)}" for side, m in measures.items())


def size_of(found: Pooled, unit: str) -> str:
    """A signed value as its size, with its interval."""
    if found.value < 0.0:
        return with_interval(-found.value, -found.high, -found.low, unit)
    return with_interval(found.value, found.low, found.high, unit)
