"""The reading in few words: for the referrer (at most 120 words) and for the patient.

Sentences stand in ``summary.toml``. Urgent central signs come first. What does not fit is left out
from the end, never the urgent signs, the pattern and the last caution; nothing is said that the
full reading does not say.
"""

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.reading.cautions import alerting_recorded
from slowphase.reading.criteria import Criterion
from slowphase.reading.findings import Findings, dark_sinusoids, frequency_hz
from slowphase.reading.limits import limits
from slowphase.reading.pattern_strength import TESTS
from slowphase.reading.pattern_table import NORMAL, Weighed
from slowphase.reading.patterns import Pattern, PatternReading
from slowphase.reading.rule import SURE
from slowphase.reading.signs.battery import impulses, suppressions, weakness
from slowphase.reading.signs.nystagmus import steady
from slowphase.reading.signs.rotation import SIDES, constants, plateau
from slowphase.reading.statement import Statement
from slowphase.reading.words import number, quantity

RED_HERRINGS = ("suppression_whole_misleads", "time_constant_raw_misleads")
SIGNS_MOST = 4
SPOILT = "not_interpretable"
UNTOUCHED = ("calorics", "impulses")  # tests whose meaning a drowsy chair leaves alone
WRONG_SIDES = ("mirrored", "reversed_irrigations")
CENTRAL = ("eyes", "suppression")  # tests whose signs a peripheral loss does not explain
BY_ANY_TEST = "preponderance"  # rest, rotation and calorics may each answer it


@dataclass(frozen=True, slots=True)
class Summary:
    """``referrer`` is plain text of at most 120 words, ``patient`` a paragraph for the patient."""

    referrer: str
    patient: str


@cache
def summary_words() -> Mapping[str, Any]:
    """The sentences, as they stand in ``summary.toml``."""
    return tomllib.loads((files(__package__) / "summary.toml").read_text(encoding="utf-8"))


def summarise(
    findings: Findings,
    statements: Sequence[Statement],
    patterns: PatternReading,
    criteria: Sequence[Criterion],
    day: date | None,
    *,
    disagreeing: Sequence[str] = (),
) -> Summary:
    """The two short texts of a session; ``disagreeing`` names the tests that do not agree."""
    return Summary(
        referrer=for_referrer(findings, statements, patterns, criteria, disagreeing),
        patient=for_patient(patterns, day),
    )


def for_referrer(
    findings: Findings,
    statements: Sequence[Statement],
    patterns: PatternReading,
    criteria: Sequence[Criterion],
    disagreeing: Sequence[str] = (),
) -> str:
    """The sentences that must be said, and of the others as many as the length allows."""
    words = summary_words()["referrer"]
    first = [words["urgent"].format(text=_urgent(s)) for s in statements if s.urgent]
    first.append(_pattern_sentence(patterns))
    last = words["always"]
    said = list(first)
    for sentence in _further(findings, statements, patterns, criteria, disagreeing):
        if _count([*said, sentence, last]) <= words["words_at_most"]:
            said.append(sentence)
    numbers = list(key_numbers(findings))
    while numbers and _count([*said, _numbers(numbers), last]) > words["words_at_most"]:
        numbers.pop()
    said += [_numbers(numbers)] if numbers else []
    return " ".join([*_shortened(said, last, words["words_at_most"]), last])


def _numbers(items: Sequence[str]) -> str:
    return str(summary_words()["referrer"]["numbers"].format(numbers="; ".join(items)))


def _shortened(said: list[str], last: str, most: int) -> list[str]:
    """Urgent texts cut to their first sentences where they alone are too long."""
    while _count([*said, last]) > most and any(". " in text for text in said):
        longest = max(range(len(said)), key=lambda i: len(said[i].split()))
        said[longest] = said[longest].rsplit(". ", 1)[0] + "."
    return said


def _count(sentences: Iterable[str]) -> int:
    return sum(len(sentence.split()) for sentence in sentences)


def _urgent(statement: Statement) -> str:
    """What was found, and the last sentence of the statement, which names the pathway."""
    return f"{statement.title}: {statement.shown}. {statement.text.rsplit('. ', 1)[-1]}"


def _pattern_sentence(patterns: PatternReading) -> str:
    words = summary_words()["referrer"]
    first = patterns.first
    if first is None:
        near = [p.title for p in patterns.ranking[:2] if p.code != NORMAL or not p.against]
        return str(words["not_told"].format(nearest=", ".join(near) or "none of the list fits"))
    if first.code == SPOILT:
        return str(words["spoilt"].format(because=first.text))
    return str(words["told"].format(title=first.title, strength=first.strength))


def _further(
    findings: Findings,
    statements: Sequence[Statement],
    patterns: PatternReading,
    criteria: Sequence[Criterion],
    disagreeing: Sequence[str],
) -> Iterator[str]:
    """Everything else worth saying, the most telling first."""
    words = summary_words()["referrer"]
    first = patterns.first
    misleading = {s.code for s in statements if s.verdict == "holds"}
    yield from (words[code] for code in RED_HERRINGS if code in misleading)
    if disagreeing:
        yield words["disagree"].format(titles="; ".join(disagreeing))
    if first is not None and first.code == SPOILT:
        kept = [s for s in patterns.signs if s.test in UNTOUCHED and (s.chance or 0.0) >= SURE]
        if kept and first.variant not in WRONG_SIDES:
            shown = "; ".join(f"{s.title} ({_flat(s.shown)})" for s in kept[:SIGNS_MOST])
            yield words["untouched"].format(signs=shown)
    elif first is not None and first.code != NORMAL:
        if first.fit:
            yield words["signs"].format(signs=_signs(first.fit))
        central = [w for w in first.against if w.sign.test in CENTRAL and _seen(w)]
        others = [w for w in first.against if w not in central]
        if central:
            yield words["beside"].format(signs=_signs(central))
        if others:
            yield words["against"].format(signs=_signs(others))
    met = [_met(c) for c in criteria if c.verdict == "met" and _surely_met(c)]
    if met and not (first is not None and first.code == SPOILT):
        yield words["criteria"].format(criteria=", ".join(met))
    yield from _open(patterns, findings)
    yield words["conditions"].format(conditions=_conditions(findings))


def _surely_met(criterion: Criterion) -> bool:
    """Whether every item that is met is so with its whole interval."""
    met = [item for item in criterion.items if item.verdict == "met"]
    return all(item.chance is None or item.chance >= SURE for item in met)


def _met(criterion: Criterion) -> str:
    """A criterion that is met, and by how many of its items."""
    measured = [item for item in criterion.items if item.evidence or item.verdict != "met"]
    met = [item for item in measured if item.verdict == "met"]
    known = " (limits from memory)" if criterion.mark == "memory" else ""
    return f"{criterion.title} {len(met)} of {len(measured)} items{known}"


def _signs(weighed: Sequence[Weighed]) -> str:
    """The weightiest sign of each test: signs of one test say the same again."""
    first = {w.sign.test: w for w in reversed(weighed)}
    own = [w for w in weighed if first[w.sign.test] is w]
    return "; ".join(_sign(w) for w in own[:SIGNS_MOST])


def _seen(weighed: Weighed) -> bool:
    return (weighed.sign.chance or 0.0) > 0.5


def _sign(weighed: Weighed) -> str:
    """A sign with its number; one that was looked for and not found says so."""
    sign, seen = weighed.sign, _seen(weighed)
    shown = f" ({_flat(sign.shown)})" if sign.shown else ""
    return f"{sign.title}{shown}" if seen else f"{sign.title}: not seen"


def key_numbers(findings: Findings) -> Iterator[str]:
    """The number of each test that a referrer asks for first."""
    words = summary_words()["numbers"]
    found = steady(findings) if was_done("nystagmus", findings) else None
    if found is not None:
        slow = abs(found.value) < limits()["spontaneous_present"].value
        value = "none" if slow else quantity(found.value, "deg/s")
        yield words["no_nystagmus" if slow else "nystagmus"].format(value=value)
    gains = [float(m.value or 0.0) for m in plateau(findings)]
    if gains:
        ends = dict.fromkeys(number(end, "1") for end in (min(gains), max(gains)))
        from_hz = f"{_slowest_hz(findings):g} Hz"
        yield words["gain"].format(gains="–".join(ends), from_hz=from_hz)
    sides = [constants(findings, side) for side in SIDES]
    if any(sides):
        right, left = (quantity(p.value, "s") if p else "–" for p in sides)
        yield words["constants"].format(right=right, left=left)
    fixed = min((float(m.value or 0.0) for m in suppressions(findings)), default=None)
    if fixed is not None:
        yield words["suppression"].format(value=quantity(fixed, "%"))
    weak = weakness(findings)
    if weak is not None and weak.value is not None and weak.grade != "unusable":
        yield words["weakness"].format(value=quantity(weak.value, "%"))
    canals = impulses(findings)
    if canals:
        right, left = (number(m.value if m else None, "1") for m in map(canals.get, SIDES))
        yield words["impulses"].format(right=right, left=left)


def _slowest_hz(findings: Findings) -> float:
    """The slowest sinusoid of the plateau; its limit where only steps were done."""
    least = limits()["plateau_frequency"].value
    return min(
        (f for t in dark_sinusoids(findings) if (f := frequency_hz(t)) >= least), default=least
    )


def _flat(shown: str) -> str:
    """A value and its interval without brackets of their own."""
    return shown.replace(" (", ", ").replace(")", "")


def untested(patterns: PatternReading) -> list[str]:
    """The tests of which no sign was answered."""
    told = (s for s in patterns.signs if s.chance is not None and s.code != BY_ANY_TEST)
    known = {sign.test for sign in told}
    if any(s.code == "mirrored" and s.chance is not None for s in patterns.signs):
        known.add("rotation")
    return [test for test in TESTS if test not in known]


def _open(patterns: PatternReading, findings: Findings) -> Iterator[str]:
    """The tests that say nothing: those that were not done, and those that could not be judged."""
    words, lacking = summary_words()["referrer"], untested(patterns)
    done = [test for test in lacking if was_done(test, findings)]
    missing = [test for test in lacking if test not in done]
    for name, tests in (("open", missing), ("unjudged", done)):
        if tests:
            yield words[name].format(tests=", ".join(tests))


def was_done(test: str, findings: Findings) -> bool:
    """Whether the session holds trials of a test, whatever could be told from them."""
    if test == "suppression":
        return bool(findings.pairs_of("suppression"))
    kinds = {
        "nystagmus": ("spontaneous",),
        "rotation": ("sinusoid", "step"),
        "calorics": ("caloric",),
        "impulses": ("impulse",),
    }[test]
    trials = [trial for kind in kinds for trial in findings.of_kind(kind)]
    return any(trial.measures for trial in trials)


def _conditions(findings: Findings) -> str:
    told = findings.conditions
    alert = (
        f"alerting by {told['alerting']}" if alerting_recorded(told) else "alerting not recorded"
    )
    medicine = str(told.get("medication", "")).strip()
    return f"{alert}, medication {medicine}" if medicine else alert


def for_patient(patterns: PatternReading, day: date | None) -> str:
    """A paragraph in plain words, without numbers and without a diagnosis."""
    words = summary_words()["patient"]
    intro = words["intro"].format(date=day.isoformat()) if day else words["unknown_date"]
    return " ".join([intro, *_for_patient(patterns.first, words), words["always"]])


def _for_patient(first: Pattern | None, words: Mapping[str, str]) -> Iterator[str]:
    if first is None:
        yield words["not_told"]
        return
    yield words[first.code]
    if first.side is not None and first.variant in words:
        yield words[first.variant]
    if first.strength == "weak":
        yield words["weak"]
