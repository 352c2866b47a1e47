"""Does poor suppression vanish without the steady nystagmus, and does it fit calorics and pursuit?

Whether suppression in the chair is poor is judged once, by the statement's rule
(`reading.rules.suppression`); here its outcome is held against other tests.
"""

from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import Beyond, below, span, together
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.findings import named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import usable
from slowphase.reading.rule import evidence, plain
from slowphase.reading.rules.pursuit import slow_gains
from slowphase.reading.rules.suppression import judge as judge_suppression
from slowphase.reading.statement import EvidenceItem, Verdict

STATES: dict[Verdict, Beyond] = {
    "holds": "beyond",
    "does_not_hold": "within",
    "cannot_tell": "unsure",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """One pair of trials: its suppression, the whole-response version, and whether it is poor
    (``beyond`` for surely poor, ``within`` for surely as expected)."""

    pair: PairResult
    modulated: Measure
    whole: Measure | None
    poor: Beyond


def judged(battery: Battery) -> list[Judged]:
    """The pairs whose suppression can be judged at all."""
    pairs = battery.findings.pairs_of("suppression")
    verdicts = judge_suppression(battery.findings)
    return [
        Judged(pair, modulated, named(pair, "suppression_whole"), STATES[verdict.verdict])
        for pair, verdict in zip(pairs, verdicts, strict=True)
        if (modulated := named(pair, "suppression")) is not None
        and usable(modulated)
        and verdict.outcome in ("poor", "good", "near")
    ]


def judge_nystagmus(battery: Battery) -> Outcome:
    """Whether a failure of the whole response vanishes once the constant part is out."""
    pairs = [
        one for one in judged(battery) if one.whole is not None and one.whole.value is not None
    ]
    if not pairs:
        return Outcome("not_tested")
    limit = limits()["suppression"]
    outcomes = [vanishing(one, limit.value) for one in pairs]
    order = ("whole_better", "vanishes", "unsure", "stays", "both_good")
    name = min(outcomes, key=order.index)
    shown = [one for one, outcome in zip(pairs, outcomes, strict=True) if outcome == name]
    words = {
        "values": "; ".join(
            f"{one.pair.dark} and {one.pair.fixation}: whole response {plain(one.whole)}, part "
            f"that follows the chair {plain(one.modulated)}"
            for one in shown
        ),
        "limit": limit.cited,
    }
    items = [evidence(m, limit) for one in pairs for m in (one.modulated, one.whole) if m]
    return Outcome(name, words, (*items, *bias_evidence(battery, pairs)), (pair_panel(pairs),))


def vanishing(one: Judged, limit: float) -> str:
    """What becomes of a failure of the whole response in one pair."""
    whole = one.whole.value if one.whole is not None and one.whole.value is not None else 0.0
    if one.poor == "unsure":
        return "unsure"
    if one.poor == "beyond":
        return "stays" if whole < limit else "whole_better"
    return "vanishes" if whole < limit else "both_good"


def bias_evidence(battery: Battery, pairs: list[Judged]) -> list[EvidenceItem]:
    """The constant part with the target, which is what spoils the whole response."""
    found = (named(battery.findings.trial(one.pair.fixation), "bias") for one in pairs)
    return [evidence(measure) for measure in found if measure is not None]


def pair_panel(pairs: list[Judged]) -> Panel:
    """Both versions of every pair beside the least that is expected."""
    rows = [
        Row(f"{one.pair.fixation}, {name}", m.value, m.low, m.high, expected())
        for one in pairs
        for name, m in (("whole", one.whole), ("follows the chair", one.modulated))
        if m is not None and m.value is not None
    ]
    return Panel("suppression; band: expected", "%", tuple(rows))


def expected() -> tuple[float, float]:
    """Suppression as it is expected to be, in percent."""
    return limits()["suppression"].value, 100.0


def suppression_panel(pairs: list[Judged]) -> Panel:
    """Suppression of the part that follows the chair beside what is expected."""
    rows = tuple(
        Row(f"{one.pair.dark}, {one.pair.fixation}", m.value or 0.0, m.low, m.high, expected())
        for one in pairs
        for m in (one.modulated,)
    )
    return Panel("suppression in the chair; band: expected", "%", rows)


def judge_caloric(battery: Battery) -> Outcome:
    """Suppression in the chair against the caloric fixation index."""
    pairs, found = judged(battery), indices(battery)
    if not pairs or not found:
        return Outcome("not_tested", {"lacking": lacking(pairs, "caloric fixation index")})
    limit = limits()["fixation_index"]
    failing = [reversed_(below(span(m), limit.value)) for m in found]
    rows = tuple(
        Row(m.id.split("/")[0], m.value or 0.0, m.low, m.high, (0.0, limit.value)) for m in found
    )
    panel = Panel("caloric fixation index; band: expected", "1", rows)
    return beside(pairs, found, together(failing), "fixation_index", panel)


def indices(battery: Battery) -> list[Measure]:
    """The caloric fixation indices, recorded ones; typed ones where there are none."""
    recorded, typed = (
        [
            measure
            for trial in battery.findings.of_kind(kind)
            for measure in trial.measures
            if measure.name == "fixation_index"
            and measure.value is not None
            and measure.grade != "unusable"
        ]
        for kind in ("caloric", "values")
    )
    return recorded or typed


def reversed_(state: Beyond) -> Beyond:
    """Above the limit in place of below it."""
    turned: dict[Beyond, Beyond] = {"beyond": "within", "within": "beyond"}
    return turned.get(state, "unsure")


def judge_pursuit(battery: Battery) -> Outcome:
    """Suppression in the chair against smooth pursuit of slow targets."""
    pairs, found = judged(battery), slow_gains(battery.findings)
    if not pairs or not found:
        return Outcome("not_tested", {"lacking": lacking(pairs, "smooth pursuit")})
    limit = limits()["pursuit_gain"]
    poor = [below(span(m), limit.value, among=len(found)) for m in found]
    rows = tuple(
        Row(m.id.split("/")[0], m.value or 0.0, m.low, m.high, (limit.value, 1.0)) for m in found
    )
    panel = Panel("pursuit gain; band: expected", "1", rows)
    return beside(pairs, found, together(poor), "pursuit_gain", panel)


def beside(
    pairs: list[Judged], found: list[Measure], failing: Beyond, limit: str, panel: Panel
) -> Outcome:
    """Suppression in the chair beside another test that fails (``beyond``) or does not."""
    poor = together(one.poor for one in pairs)
    held = limits()[limit]
    names = {
        ("beyond", "beyond"): "both_poor",
        ("within", "within"): "both_good",
        ("beyond", "within"): "chair_poor",
        ("within", "beyond"): "chair_good",
    }
    words = {
        "suppression": "; ".join(plain(one.modulated) for one in pairs),
        "values": "; ".join(plain(m) for m in found),
        "limit": limits()["suppression"].cited,
        "other_limit": held.cited,
    }
    items = (
        *(evidence(one.modulated, limits()["suppression"]) for one in pairs),
        *(evidence(m, held) for m in found),
    )
    panels = (suppression_panel(pairs), panel)
    return Outcome(names.get((poor, failing), "unsure"), words, items, panels)


def lacking(pairs: list[Judged], other: str) -> str:
    """What the session lacks, in words."""
    return other if pairs else "suppression that can be judged"
