"""From a rule's outcome to a comparison: words, verdict and sources from ``agreements.toml``."""

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.comparison import AgreementRule, Comparison, Outcome
from slowphase.reading.agreement.table import RULES
from slowphase.reading.agreement.trials import CODES


def compare(battery: Battery, *, rules: Iterable[AgreementRule] = RULES) -> tuple[Comparison, ...]:
    """Every question of agreement put to one session, in the order of the table.

    Nothing is measured or placed here; the same results give the same comparisons.
    """
    return tuple(_compared(rule.code, rule.judge(battery), battery) for rule in rules)


@cache
def agreement_texts() -> dict[str, Any]:
    """The words of every rule by its code, and those that all share in ``shared``."""
    text = (files("slowphase.reading") / "agreements.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def outcomes(code: str) -> Mapping[str, Mapping[str, Any]]:
    """How a rule can come out: verdict and text by the outcome's name."""
    found: Mapping[str, Mapping[str, Any]] = agreement_texts()[code]["outcome"]
    return found


def _compared(code: str, outcome: Outcome, battery: Battery) -> Comparison:
    entry, own = agreement_texts()[code], outcomes(code)[outcome.name]
    says = own["says"].format(**outcome.words).strip()
    verdict = own["verdict"]
    tested = verdict != "not_tested"
    tails = (_doubt(outcome, battery), _look_first(code, outcome, battery))
    if verdict == "disagree":
        says = " ".join(part for part in (says, *tails) if part)
    return Comparison(
        code=code,
        title=entry["title"],
        verdict=verdict,
        outcome=outcome.name,
        text=says,
        heed=bool(own.get("heed", verdict == "disagree")),
        evidence=outcome.evidence,
        does_not_show=tuple(entry["does_not_show"]) if tested else (),
        sources=tuple(entry["sources"]),
        panels=outcome.panels if tested else (),
    )


def _doubt(outcome: Outcome, battery: Battery) -> str:
    """A sentence where a measure that the verdict rests on is not sound."""
    ids = {item.measure for item in outcome.evidence}
    found = battery.findings
    parts: tuple[TrialResult | PairResult | GroupResult, ...]
    parts = (*found.trials, *found.pairs, *found.groups)
    doubted = [m for part in parts for m in part.measures if m.id in ids and m.grade != "sound"]
    return agreement_texts()["shared"]["doubt"] if doubted else ""


def _look_first(code: str, outcome: Outcome, battery: Battery) -> str:
    """A sentence on findings of the session that concern the same trials."""
    ids = {item.measure.split("/")[0] for item in outcome.evidence} | set(outcome.trials)
    ids |= {part for name in ids for part in name.split("~")}
    found = [
        f.code for f in battery.findings.incoherences if f.code != code and ids & set(f.trials)
    ]
    if code in CODES or not found:
        return ""
    titles = ", ".join(agreement_texts()[one]["title"].lower() for one in found)
    return str(agreement_texts()["shared"]["look_first"].format(titles=titles))
