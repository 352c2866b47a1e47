"""Head impulses: the gain of each lateral canal against what healthy people have."""

from collections.abc import Iterator

from slowphase.measures.impulse.together import canal_gain
from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import capped, chance_words, ends
from slowphase.reference.normal import probability_below

SIDES = ("right", "left")
BOTH = (
    " Both are below {limit}, the impulse criterion of bilateral vestibulopathy; but a whole loss "
    "on one side lowers the gain to the other, too."
)

OTHER = " The lower one may lower the other, too: a whole loss on one side does."


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the lateral canals of a session."""
    for group in findings.groups_of("impulse"):
        trials = [trial for trial in findings.trials if trial.id in group.trials]
        gains = {side: canal_gain(trials, f"{side} lateral", "gain") for side in SIDES}
        known = {side: gain for side, gain in gains.items() if gain is not None}
        yield _judge(known) if known else Judgement("missing", "cannot_tell")


def _judge(gains: dict[str, Measure]) -> Judgement:
    limit, criterion = limits()["impulse_gain"], limits()["bilateral_impulse"]
    low = {side: probability_below(limit.value, *ends(gain)) for side, gain in gains.items()}
    weak = [side for side, p in low.items() if verdict_of(p) == "holds"]
    unsure = [side for side, p in low.items() if verdict_of(p) == "cannot_tell"]
    outcome = "both" if len(weak) == 2 else weak[0] if weak else "near" if unsure else "usual"
    decided = min(max(p, 1.0 - p) for p in low.values())
    both = [probability_below(criterion.value, *ends(gain)) for gain in gains.values()]
    met = len(both) == 2 and all(verdict_of(p) == "holds" for p in both)
    values = [gain.value or 0.0 for gain in gains.values()]
    uneven = len(weak) == 2 and max(values) - min(values) > limits()["impulse_difference"].value
    return Judgement(
        outcome=outcome,
        verdict="holds" if weak else "cannot_tell" if unsure else "does_not_hold",
        words={
            "gains": ", ".join(f"{side[0].upper()} {plain(gain)}" for side, gain in gains.items()),
            "limit": limit.cited,
            "chance": "; ".join(_chance(side, p, gains[side]) for side, p in low.items()),
            "criterion": BOTH.format(limit=criterion.cited) if met else OTHER if uneven else "",
        },
        strength=capped(strength_of(decided, gains.values(), [limit]), gains.values()),
        evidence=tuple(evidence(gain, limit) for gain in gains.values()),
        cautions=("impulse_limits",),
    )  # fmt: skip


def _chance(side: str, probability: float, gain: Measure) -> str:
    return f"{side[0].upper()} {chance_words(probability, [gain])}"


IMPULSE = Rule("impulse_gain", judge)
