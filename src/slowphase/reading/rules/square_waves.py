"""Square-wave jerks while the patient fixates: many, or large."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import above, known
from slowphase.reading.statement import Verdict
from slowphase.reading.words import chance, reason_clause

VERDICTS: dict[str, Verdict] = {"many": "holds", "large": "holds", "few": "does_not_hold"}
RATE, SIZE = "square_wave_rate", "square_wave_size"


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each trial in which jerks were looked for."""
    for trial in findings.of_kind("spontaneous"):
        rate = named(trial, "square_wave_jerks")
        if rate is not None and known(rate):
            yield _judge(trial, rate)
        elif rate is not None:
            words = {"trial": trial.id, "reason": reason_clause(rate.why)}
            yield Judgement("missing", "cannot_tell", words)


def _judge(trial: TrialResult, rate: Measure) -> Judgement:
    size = named(trial, "square_wave_size")
    size = size if known(size) else None
    many = above(limits()[RATE].value, rate)
    large = above(limits()[SIZE].value, size) if size else 0.0
    outcome = _outcome(many, large, size)
    decided = {"many": many, "large": large}.get(outcome, max(many, large))
    used = [rate, *([size] if size else [])]
    return Judgement(
        outcome=outcome,
        verdict=VERDICTS.get(outcome, "cannot_tell"),
        words={"trial": trial.id, "rate": plain(rate), "size": _size_text(size),
               "most": limits()[RATE].cited, "largest": limits()[SIZE].cited,
               "chance": chance(many)},
        strength=strength_of(decided, used, [limits()[RATE]]),
        evidence=tuple(
            evidence(m, limits()[code]) for m, code in zip(used, (RATE, SIZE), strict=False)
        ),
        cautions=("intrusions",) if outcome != "few" else (),
    )  # fmt: skip


def _outcome(many: float, large: float, size: Measure | None) -> str:
    """Many before large; a median size of one or two jerks has no interval and decides nothing."""
    sized = size is not None and size.low is not None
    verdicts = [verdict_of(many), verdict_of(large) if sized else "does_not_hold"]
    if verdicts[0] == "holds":
        return "many"
    if verdicts[1] == "holds":
        return "large"
    return "near" if "cannot_tell" in verdicts else "few"


def _size_text(size: Measure | None) -> str:
    return f", median size {plain(size)}" if size else ""


SQUARE_WAVES = Rule("square_wave_jerks", judge)
