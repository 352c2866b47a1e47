"""What the eyes answer to sinusoidal rotation in the dark, and how far that can be placed.

Described, not judged: no limit holds at every frequency. Only no answer at all is a finding by
itself, and an answer that is weak at every frequency where a healthy one is near its plateau.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, dark_sinusoids, frequency_hz, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import STRENGTHS, SURE, Judgement, Rule, evidence, plain, weaker
from slowphase.reading.rules.bilateral import criterion
from slowphase.reading.words import people_words, place_words, reason_clause
from slowphase.reference.normal import probability_below

SILENT = "no_response"
Answer = tuple[TrialResult, Measure]


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where there is a sinusoid in the dark."""
    tried = [(t, m) for t in dark_sinusoids(findings) if (m := named(t, "gain"))]
    answers = [(t, m) for t, m in tried if _known(m)]
    if answers:
        yield _judge(findings, answers)
    elif tried:
        codes = dict.fromkeys(code for _, m in tried for code in m.why)
        yield Judgement("missing", "cannot_tell", {"reason": reason_clause(tuple(codes))})


def _known(measure: Measure) -> bool:
    return measure.value is not None and measure.grade != "unusable"


def _judge(findings: Findings, answers: list[Answer]) -> Judgement:
    outcome = _outcome(answers)
    sentence, judged = criterion(findings)
    limit = limits()["weak_response"]
    gains = [m for _, m in answers]
    words = {
        "frequencies": _frequencies(answers),
        "largest": f"{max(m.high or m.value or 0.0 for m in gains):.2f}",
        "gains": "; ".join(_placed(findings, t, m) for t, m in answers),
        "unplaced": _unplaced(findings, answers),
        "limit": limit.cited,
        "criterion": sentence,
    }
    drowsy = ("low_alertness",) if any("low_alertness" in m.why for m in gains) else ()
    return Judgement(
        outcome=outcome,
        verdict="does_not_hold" if outcome == "none" else "holds",
        words=words,
        strength=_strength(gains, outcome),
        evidence=(*(evidence(m, limit if outcome == "weak" else None) for m in gains), *judged),
        cautions=(*(("technical",) if outcome != "answers" else ()), *drowsy),
    )


def _outcome(answers: list[Answer]) -> str:
    if all(SILENT in m.why for _, m in answers):
        return "none"
    plateau = [m for t, m in answers if frequency_hz(t) >= limits()["plateau_frequency"].value]
    return "weak" if plateau and all(map(_weak, plateau)) else "answers"


def _weak(measure: Measure) -> bool:
    found, limit = pool([measure]), limits()["weak_response"].value
    if found is None:
        return SILENT in measure.why
    return probability_below(limit, found.value, found.low, found.high) >= SURE


def _strength(gains: list[Measure], outcome: str) -> str:
    sound = all(m.grade == "sound" for m in gains)
    strength = STRENGTHS[2 if sound else 1]
    return weaker(strength, "moderate") if outcome == "weak" else strength


def _frequencies(answers: list[Answer]) -> str:
    tested = list(dict.fromkeys(frequency_hz(t) for t, _ in answers))
    return f"{', '.join(f'{f:g}' for f in tested)} Hz"


def _placed(findings: Findings, trial: TrialResult, measure: Measure) -> str:
    silent = "no response, gain " if SILENT in measure.why else ""
    place = _place(findings, measure)
    shown = f"{frequency_hz(trial):g} Hz {silent}{plain(measure)}"
    return f"{shown}, {place}" if place else shown


def _place(findings: Findings, measure: Measure) -> str:
    placement = findings.placements.get(measure.id)
    if placement is None:
        return ""
    place, people = place_words(placement), people_words(placement)
    return f"{place} ({people})" if place and people else place


def _unplaced(findings: Findings, answers: list[Answer]) -> str:
    """Where there is no reference, as a sentence of its own."""
    missing = [(t, m) for t, m in answers if not _place(findings, m)]
    return f" No reference at {_frequencies(missing)}." if missing else ""


RESPONSE = Rule("response_to_rotation", judge, needs_alertness=True)
