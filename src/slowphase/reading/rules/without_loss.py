"""A fast spontaneous nystagmus while head impulses and calorics show no loss: a warning.

Nothing is judged anew: the outcomes of the statements on the nystagmus, on head impulses and on
calorics are put together. In new, lasting vertigo a normal impulse test is itself a warning sign.
"""

from collections.abc import Iterator, Mapping

from slowphase.reading.findings import Findings
from slowphase.reading.rule import Judgement, Rule, weaker
from slowphase.reading.rules.caloric import judge as judge_caloric
from slowphase.reading.rules.impulse import judge as judge_impulse
from slowphase.reading.rules.spontaneous import judge as judge_spontaneous
from slowphase.reading.statement import Verdict

VERDICTS: Mapping[str, Verdict] = {
    "unexplained": "holds",
    "loss": "does_not_hold",
    "unsure": "cannot_tell",
}
LOSS = ("both", "right", "left", "weaker")  # outcomes of impulses and calorics that show one


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where a nystagmus is surely beyond the limit and impulses were tested."""
    nystagmus = next(iter(judge_spontaneous(findings)))
    impulses = next(iter(judge_impulse(findings)), None)
    if nystagmus.outcome != "above" or impulses is None or impulses.outcome == "missing":
        return
    calorics = next(iter(judge_caloric(findings)), None)
    tested = [impulses] if calorics is None else [impulses, calorics]
    outcome = _outcome([judgement.outcome for judgement in tested])
    words = {
        "direction": nystagmus.words["direction"],
        "speed": nystagmus.words["speed"],
        "gains": impulses.words["gains"],
        "calorics": _calorics(calorics),
    }
    strength = weaker(nystagmus.strength, impulses.strength)
    yield Judgement(
        outcome=outcome,
        verdict=VERDICTS[outcome],
        words=words,
        strength="weak" if outcome == "unsure" else strength,
        evidence=tuple(item for part in (nystagmus, *tested) for item in part.evidence),
        cautions=("impulse_limits",),
        leads=outcome == "unexplained",
    )


def _outcome(outcomes: list[str]) -> str:
    if any(outcome in LOSS for outcome in outcomes):
        return "loss"
    return "unexplained" if outcomes[0] == "usual" else "unsure"


def _calorics(judged: Judgement | None) -> str:
    """What calorics say, as the tail of a clause."""
    if judged is None:
        return "; calorics were not tested"
    return "; calorics show no weaker ear" if judged.outcome == "even" else "; calorics cannot tell"


WITHOUT_LOSS = Rule("nystagmus_without_loss", judge)
