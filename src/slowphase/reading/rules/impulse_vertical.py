"""Head impulses in the planes of the vertical canals: which gains are low."""

from collections.abc import Iterator

from slowphase.measures.impulse.together import canal_gain
from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of
from slowphase.reading.rules.against import below, capped, chance_words
from slowphase.reading.rules.ways import deciding, together
from slowphase.reading.words import reason_clause

CANALS = tuple(f"{side} {canal}" for canal in ("anterior", "posterior")
               for side in ("right", "left"))  # fmt: skip
OUTCOMES = {"holds": "low", "does_not_hold": "usual", "cannot_tell": "near"}


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where vertical canals were examined."""
    for group in findings.groups_of("impulse"):
        trials = [trial for trial in findings.trials if trial.id in group.trials]
        gains = {c: m for c in CANALS if (m := canal_gain(trials, c, "gain")) is not None}
        tried = [m for t in trials for m in t.measures if m.name == "gain" and m.of in CANALS]
        if gains:
            yield _judge(gains)
        elif tried:
            codes = tuple(dict.fromkeys(code for m in tried for code in m.why))
            yield Judgement("missing", "cannot_tell", {"reason": reason_clause(codes)})


def _judge(gains: dict[str, Measure]) -> Judgement:
    limit = limits()["impulse_gain_vertical"]
    low = {canal: below(limit.value, gain) for canal, gain in gains.items()}
    verdict = together(low)
    used = gains.values()
    return Judgement(
        outcome=OUTCOMES[verdict],
        verdict=verdict,
        words={
            "canals": ", ".join(c for c, p in low.items() if together({c: p}) == "holds"),
            "gains": ", ".join(f"{canal} {plain(gain)}" for canal, gain in gains.items()),
            "limit": limit.cited,
            "chance": ", ".join(f"{c} {chance_words(p, [gains[c]])}" for c, p in low.items()),
        },
        strength=capped(strength_of(deciding(low, verdict), used, [limit]), used),
        evidence=tuple(evidence(gain, limit) for gain in used),
        cautions=("impulse_limits",),
    )


IMPULSE_VERTICAL = Rule("impulse_gain_vertical", judge)
