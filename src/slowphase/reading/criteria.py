"""Consensus criteria item by item: met, not met, not tested.

An item compares unrounded values with its range, strictly where the criterion says "less than" or
"more than": a gain of exactly 0.6 is not less than 0.6. Ranges of presbyvestibulopathy hold their
lower end, which bilateral vestibulopathy leaves over, and not their upper one. Beside the verdict
stands the chance that the true values meet the item, from their intervals. Nothing is interpolated
to a frequency that was not tested, and no item is derived from another.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from slowphase.measures.measure import Measure
from slowphase.reading.criteria_values import SOURCES, Number, Numbers
from slowphase.reading.findings import Findings
from slowphase.reading.rule import SURE, plain
from slowphase.reading.signs.sign import all_of, any_of
from slowphase.reading.signs.table import SIGNS
from slowphase.reading.statement import EvidenceItem
from slowphase.reference.normal import probability_below

Met = Literal["met", "not_met", "not_tested"]
Verdict = Met | Literal["no_measure", "contradicted"]
Range = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a criterion: its verdict, the chance that it is met, and the values behind it.

    ``chance`` is None where values have no interval or nothing was tested; ``remark`` says what
    was not as the criterion asks, or why nothing was tested.
    """

    code: str
    title: str
    verdict: Met
    chance: float | None = None
    evidence: tuple[EvidenceItem, ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Criterion:
    """One set of consensus criteria held against the session.

    ``verdict`` is that of the measured part alone: ``met``, ``not_met``, ``not_tested``, or
    ``no_measure`` where the criteria name none; ``contradicted`` where its items are met and a sign
    speaks surely against it, which ``remark`` names. ``history`` is what recordings cannot tell,
    ``trap`` what is easily read wrong.
    """

    code: str
    title: str
    source: str
    mark: str
    verdict: Verdict
    items: tuple[Item, ...]
    history: str
    trap: str
    remark: str = ""


@cache
def criteria_table() -> Mapping[str, Any]:
    """The criteria and their items, as they stand in ``criteria.toml``."""
    return tomllib.loads((files(__package__) / "criteria.toml").read_text(encoding="utf-8"))


def read_criteria(findings: Findings) -> tuple[Criterion, ...]:
    """Every set of criteria, item by item."""
    table = criteria_table()
    return tuple(
        _criterion(code, entry, findings) for code, entry in table.items() if code != "item"
    )


def _criterion(code: str, entry: Mapping[str, Any], findings: Findings) -> Criterion:
    items = tuple(read_item(item, findings) for item in entry["items"])
    told = {key: entry[key] for key in ("title", "source", "mark", "history", "trap")}
    verdict = _verdict(entry, items)
    remark = ""
    if verdict == "met" and _contradicted(entry, findings):
        verdict, remark = "contradicted", entry["contradicted"]
    elif verdict == "met" and _alone(entry, items):
        remark = entry["alone_remark"]
    return Criterion(code=code, verdict=verdict, items=items, remark=remark, **told)


def _contradicted(entry: Mapping[str, Any], findings: Findings) -> bool:
    """Whether one of its signs surely speaks against it, and none that would explain that."""
    against = [SIGNS[code](findings).chance for code in entry.get("contradicted_where", ())]
    against += [
        all_of(SIGNS[code](findings).chance for code in pair)
        for pair in entry.get("contradicted_together", ())
    ]
    excused = [SIGNS[code](findings).chance for code in entry.get("contradicted_unless", ())]
    return (any_of(against) or 0.0) >= SURE and (any_of(excused) or 0.0) <= 1.0 - SURE


def _alone(entry: Mapping[str, Any], items: Sequence[Item]) -> bool:
    """Whether the item that easily misleads is the only one that is met, and what would tell was
    not tested."""
    met = [item.code for item in items if item.verdict == "met"]
    open_ = [item.code for item in items if item.verdict == "not_tested"]
    return met == [entry.get("alone")] and entry.get("alone_without") in open_


def _verdict(entry: Mapping[str, Any], items: Sequence[Item]) -> Verdict:
    """Of the measured part: every item that must be met, and one of the others."""
    if not items:
        return "no_measure"
    musts = set(entry.get("must", ()))
    parts = [item.verdict for item in items if item.code in musts]
    others = [item.verdict for item in items if item.code not in musts]
    enough = [item.verdict for item in items if item.code in entry.get("decides", ())]
    if others and "met" not in others and "not_tested" in enough:
        return all_met([*parts, "not_tested"])
    return all_met([*parts, *([any_met(others)] if others else [])])


def all_met(verdicts: Sequence[Met]) -> Met:
    """Met where all are; one that is not decides, before one that was not tested."""
    if "not_met" in verdicts:
        return "not_met"
    return "not_tested" if "not_tested" in verdicts else "met"


def any_met(verdicts: Sequence[Met]) -> Met:
    """Met where one is; not met where those that were tested are not."""
    if "met" in verdicts:
        return "met"
    return "not_met" if "not_met" in verdicts else "not_tested"


def read_item(code: str, findings: Findings) -> Item:
    """One item, from its own values or from those of the items that it is made of."""
    entry = criteria_table()["item"][code]
    if "any_of" in entry:
        return _joined(code, entry["title"], [read_item(c, findings) for c in entry["any_of"]])
    found = SOURCES[entry["of"]](findings)
    if isinstance(found, str):
        return Item(code, entry["title"], "not_tested", remark=found)
    return _held(code, entry, found)


def _held(code: str, entry: Range, found: Numbers) -> Item:
    met = all(inside(number.value, entry) for number in found.numbers)
    return Item(
        code=code,
        title=entry["title"],
        verdict="met" if met else "not_met",
        chance=all_of(chance_inside(number, entry) for number in found.numbers),
        evidence=tuple(_shown(measure, entry) for measure in found.measures),
        remark=found.remark,
    )


def _shown(measure: Measure, entry: Range) -> EvidenceItem:
    """A measure with as many digits as tell it from the ends of the range."""
    ends = (entry[end] for end in ("below", "above", "from") if end in entry)
    return EvidenceItem(measure.id, plain(measure, ends))


def _joined(code: str, title: str, items: Sequence[Item]) -> Item:
    shown = dict.fromkeys(piece for item in items for piece in item.evidence)
    remarks = dict.fromkeys(item.remark for item in items if item.remark)
    return Item(
        code=code,
        title=title,
        verdict=any_met([item.verdict for item in items]),
        chance=any_of(item.chance for item in items),
        evidence=tuple(shown),
        remark="; ".join(remarks),
    )


def inside(value: float, entry: Range) -> bool:
    """Whether an unrounded value meets a range."""
    return (
        value < entry.get("below", float("inf"))
        and value > entry.get("above", -float("inf"))
        and value >= entry.get("from", -float("inf"))
    )


def chance_inside(number: Number, entry: Range) -> float | None:
    """Chance that the true value meets a range; None where the value has no interval."""
    if number.low is None or number.high is None:
        return None
    place = number.value, number.low, number.high
    under = probability_below(entry["below"], *place) if "below" in entry else 1.0
    if "above" in entry:
        return probability_below(-entry["above"], -number.value, -number.high, -number.low)
    floor = probability_below(entry["from"], *place) if "from" in entry else 0.0
    return max(under - floor, 0.0)
