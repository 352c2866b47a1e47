"""Positional nystagmus: which positions bring it on, when it begins, how long it lasts, which way.

What warns of a central cause is read before all else: beating downward, lasting, turning within
one position. No canal is named and no manoeuvre recommended.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, strength_of, verdict_of
from slowphase.reading.rules.against import beyond
from slowphase.reading.rules.positions import Position, positions
from slowphase.reading.statement import Verdict
from slowphase.reading.words import reason_clause

WARNINGS = ("downbeat", "lasting", "turns")  # of a central cause, gravest first
VERDICTS: dict[str, Verdict] = {
    "downbeat": "holds",
    "lasting": "holds",
    "turns": "cannot_tell",
    "other_way": "holds",
    "burst": "holds",
    "untimed": "holds",
    "none": "does_not_hold",
}


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for all positions of a session."""
    found = positions(findings)
    tried = findings.of_kind("positional")
    if any(position.peaks for position in found):
        yield _judge([position for position in found if position.peaks])
    elif tried:
        codes = dict.fromkeys(c for t in tried for m in t.measures for c in m.why)
        words = {"reason": reason_clause(tuple(codes))}
        yield Judgement("missing", "cannot_tell", words)


def _judge(found: list[Position]) -> Judgement:
    limit = limits()["positional_nystagmus"]
    outcome = _outcome(found)
    shown = _shown(found, outcome)
    peaks = [peak for position in found for peak in position.peaks]
    held = [peak for position in shown for peak in position.beating] or peaks
    decided = max(beyond(limit.value, peak) for peak in held)
    times = [m for position in shown for m in position.times]
    return Judgement(
        outcome=outcome,
        verdict=VERDICTS.get(outcome, "cannot_tell"),
        words={
            "positions": "; ".join(position.text for position in shown),
            "others": _others(found, shown),
            "count": str(len(found)),
            "limit": limit.cited,
        },
        strength=strength_of(decided, held, [limit]) if outcome in VERDICTS else "weak",
        evidence=(*(evidence(peak, limit) for peak in held), *(evidence(m) for m in times)),
        cautions=_cautions(outcome),
        leads=outcome in WARNINGS,
    )


def _outcome(found: list[Position]) -> str:
    """The gravest of what the positions show."""
    beating = [position for position in found if position.beating]
    for warning in WARNINGS:
        if any(getattr(position, warning) for position in beating):
            return warning
    if beating:
        if len({position.way for position in beating if position.way}) > 1:
            return "other_way"
        return "burst" if any(position.timed for position in beating) else "untimed"
    if any(_open(peak) for position in found for peak in position.peaks):
        return "near"
    return "none" if all(position.vertical_seen for position in found) else "in_part"


def _open(peak: Measure) -> bool:
    limit = limits()["positional_nystagmus"].value
    return verdict_of(beyond(limit, peak)) == "cannot_tell"


def _shown(found: list[Position], outcome: str) -> list[Position]:
    """The positions that the outcome speaks of, the warning ones first."""
    beating = [position for position in found if position.beating]
    if outcome in WARNINGS:
        return [position for position in beating if getattr(position, outcome)]
    return beating or found


def _others(found: list[Position], shown: list[Position]) -> str:
    """Other positions with a nystagmus, as a sentence of its own."""
    rest = [position.text for position in found if position.beating and position not in shown]
    return f" Also: {'; '.join(rest)}." if rest else ""


def _cautions(outcome: str) -> tuple[str, ...]:
    if outcome == "none":
        return ()
    return ("positional_before", *(("vertical",) if outcome == "downbeat" else ()))


POSITIONAL = Rule("positional_nystagmus", judge)
