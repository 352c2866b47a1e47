"""The first page: the reading in short, the pattern, whether the tests agree, and key numbers."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any

from slowphase.course.followed import label
from slowphase.course.key import Wanted, keyed
from slowphase.reading.words import chance, reason_text
from slowphase.report.agreement_section import verdict_words
from slowphase.report.labels import (
    NO_REFERENCE,
    interval_text,
    limits_text,
    short_source,
    value_text,
)
from slowphase.report.reading_section import sign_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.course.key import Key
    from slowphase.measures.measure import Measure
    from slowphase.reading.agreement import Comparison
    from slowphase.reading.pattern_table import Weighed
    from slowphase.reference.placement import Placement

Context = dict[str, Any]
SIGNS = 4  # signs for and against that the first page has room for
NUMBERS = 16  # rows of key numbers that it has room for; all stand in the tables that follow


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen(Wanted):
    """One kind of key number, and of which stimuli it is shown."""

    which: str


@cache
def chosen() -> tuple[Chosen, ...]:
    """The kinds of key numbers, in their order (``front.toml``)."""
    text = (files(__package__) / "front.toml").read_text(encoding="utf-8")
    return tuple(Chosen(**entry) for entry in tomllib.loads(text)["number"])


def front_section(analysis: Analysis, anchor: Callable[[str, str], str]) -> Context:
    """What the first page says beside the summary and the picture."""
    rows = [_row(key, m, analysis, anchor) for key, m in key_numbers(analysis)]
    sources = lettered(row["source"] for row in rows[:NUMBERS])
    return {
        "sources": sources,
        "linked": {f.code for f in analysis.agreements if f.verdict != "not_tested"},
        "pattern": _pattern(analysis),
        "agreement": list(agreement_lines(analysis)),
        "numbers": rows[:NUMBERS],
        "more_numbers": max(len(rows) - NUMBERS, 0),
    }


def lettered(sources: Iterable[str]) -> dict[str, str]:
    """Each source once with a letter, so that a table names long sources below itself."""
    named = dict.fromkeys(source for source in sources if source)
    return {source: _letters(number) for number, source in enumerate(named)}


def _letters(number: int) -> str:
    first, last = divmod(number, len(ascii_lowercase))
    return (ascii_lowercase[first - 1] if first else "") + ascii_lowercase[last]


def _pattern(analysis: Analysis) -> Context | None:
    reading = analysis.patterns
    if not reading.ranking:
        return None
    nearest = reading.ranking[0]
    return {
        "told": reading.told,
        "title": nearest.title,
        "strength": nearest.strength,
        "weight": chance(nearest.share) if nearest.code != "not_interpretable" else "",
        "next": [pattern.title for pattern in reading.ranking[1:2]] if not reading.told else [],
        "for": _signs(nearest.fit) if nearest.code != "normal" else "",
        "against": _signs(nearest.against),
    }


def _signs(found: tuple[Weighed, ...]) -> str:
    told = [sign_text(weighed) for weighed in found[:SIGNS]]
    more = len(found) - SIGNS
    return "; ".join([*told, f"and {more} more"] if more > 0 else told)


def agreement_lines(analysis: Analysis) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Each verdict in words with titles and codes; what to heed first, what agrees as a number."""
    heeded = [found for found in analysis.agreements if found.heed]
    others = [found for found in analysis.agreements if not found.heed]
    for among in (heeded, others):
        for verdict in ("disagree", "cannot_tell", "agree", "not_tested"):
            same = [found for found in among if found.verdict == verdict]
            if same:
                named = among is heeded or verdict != "agree"
                titles = [(found.title, found.code) for found in same]
                yield verdict_words(same[0]), titles if named else [(_counted(same), "")]


def _counted(same: list[Comparison]) -> str:
    return f"{len(same)} comparison{'s' if len(same) != 1 else ''}"


def key_numbers(analysis: Analysis) -> list[tuple[Key, Measure]]:
    """The key numbers of a session, in their order."""
    every = [(key, measure) for key, _, measure in keyed(analysis)]
    return [pair for one in chosen() for pair in _shown(one, every)]


def _shown(one: Chosen, every: Iterable[tuple[Key, Measure]]) -> list[tuple[Key, Measure]]:
    found = sorted((p for p in every if one.fits(p[0])), key=lambda pair: _frequency(pair[0]))
    if one.which == "all" or not found:
        return found
    ends = {_frequency(found[0][0])}
    if one.which == "ends":
        ends.add(_frequency(found[-1][0]))
    return [pair for pair in found if _frequency(pair[0]) in ends]


def _frequency(key: Key) -> float:
    return key.number("frequency_hz") or 0.0


def _row(
    key: Key, measure: Measure, analysis: Analysis, anchor: Callable[[str, str], str]
) -> Context:
    placement = analysis.placements.get(measure.id)
    return {
        "label": label(key),
        "target": anchor("m", measure.id),
        "value": value_text(measure),
        "interval": interval_text(measure),
        "grade": measure.grade,
        "reference": _reference(measure, placement),
        "source": short_source(placement) if placement else "",
    }


def _reference(measure: Measure, placement: Placement | None) -> str:
    if measure.value is None:
        return "; ".join(reason_text(code) for code in measure.why[:1])
    return limits_text(placement, measure.unit, "outside") if placement else NO_REFERENCE
