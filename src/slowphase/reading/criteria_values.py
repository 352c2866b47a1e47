"""The values that items of consensus criteria look at, each found in one place of the session."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings, in_plane, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled
from slowphase.reading.rule import SURE
from slowphase.reading.rules.bilateral import chair_trials, other_peak
from slowphase.reading.rules.caloric import goes_wrong
from slowphase.reading.rules.nystagmus import Nystagmus, in_the_dark
from slowphase.reading.signs.battery import ears, impulses, suppression_poor, weakness
from slowphase.reading.signs.nystagmus import changes, turns_with_gaze, vertical
from slowphase.reading.signs.rotation import constants

OTHER = {"right": "left", "left": "right"}


@dataclass(frozen=True, slots=True)
class Number:
    """An unrounded value and its 95 % interval, None where it has none."""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Numbers:
    """The values that an item asks for, the measures behind them, and a remark on them."""

    numbers: tuple[Number, ...]
    measures: tuple[Measure, ...]
    remark: str = ""


Found = Numbers | str  # or why there are none


def of(*measures: Measure, remark: str = "") -> Numbers:
    """The values of measures as they stand."""
    return Numbers(tuple(_number(m) for m in measures), measures, remark)


def _number(measure: Measure, sign: float = 1.0) -> Number:
    value = sign * float(measure.value or 0.0)
    if measure.low is None or measure.high is None:
        return Number(value, None, None)
    low, high = sorted((sign * measure.low, sign * measure.high))
    return Number(value, low, high)


def _pooled(found: Pooled) -> Number:
    return Number(found.value, found.low, found.high)


def both_impulses(findings: Findings) -> Found:
    """The gain of either lateral canal."""
    return _of_both(impulses(findings), "head impulses")


def both_ears(findings: Findings) -> Found:
    """The caloric total of either ear."""
    totals = {side: m for side, m in ears(findings).items() if m.grade != "unusable"}
    if any(map(goes_wrong, totals.values())):
        return "calorics: an ear answers the wrong way, so that they cannot be judged"
    return _of_both(totals, "calorics")


def _of_both(known: Mapping[str, Measure], test: str) -> Found:
    lacking = [side for side in OTHER if side not in known]
    if not lacking:
        return of(*known.values())
    if len(lacking) == len(OTHER):
        return f"{test}: not tested"
    return f"{test}: the {lacking[0]} side is missing"


def chair_gain(findings: Findings) -> Found:
    """The dark gain at 0.1 Hz."""
    return _at_the_chair(findings, "gain")


def chair_lead(findings: Findings) -> Found:
    """The phase lead at 0.1 Hz."""
    return _at_the_chair(findings, "phase")


def _at_the_chair(findings: Findings, name: str) -> Found:
    trials = chair_trials(findings)
    if not trials:
        return "no sinusoid at 0.1 Hz in the dark"
    measure = named(trials[0], name)
    if measure is None or measure.value is None or measure.grade == "unusable":
        return "the sinusoid at 0.1 Hz gave no value"
    peak = other_peak(trials[0])
    return of(measure, remark="" if peak is None else f"tested at {peak:g} deg/s")


def both_constants(findings: Findings) -> Found:
    """The times to 1/e of both exciting directions, pooled."""
    found = [constants(findings, side) for side in ("right", "left")]
    known = [p for p in found if p is not None]
    if len(known) < len(found):
        return "no time constants of both directions"
    members = tuple(m for p in known for m in p.members)
    remark = "which definition of the time constant the criterion means is not said"
    return Numbers(tuple(_pooled(p) for p in known), members, remark)


def age(findings: Findings) -> Found:
    """The patient's age in years."""
    years = findings.patient.age_years
    if years is None:
        return "age is not known"
    return Numbers((Number(years, years, years),), (), f"{years:g} years")


def fixed_nystagmus(findings: Findings) -> Found:
    """Speed of the horizontal nystagmus in the dark; 0 where it is none, or changes direction."""
    found = in_the_dark(findings, "horizontal")
    if found is None:
        return "spontaneous nystagmus in the dark: not tested"
    members = found.velocity.members
    if found.changes or found.beating is False:
        told = "it changes direction" if found.changes else "hardly any quick phases"
        return Numbers((Number(0.0, 0.0, 0.0),), members, told)
    return Numbers((_speed(found),), members)


def _speed(found: Nystagmus) -> Number:
    v = found.velocity
    return Number(v.value, v.low, v.high) if v.value >= 0 else Number(-v.value, -v.high, -v.low)


def fixation_effect(findings: Findings) -> Found:
    """By how much vision slows the spontaneous nystagmus, %."""
    pairs = findings.pairs_of("fixation")
    effects = [m for p in pairs if (m := in_plane(p, "fixation_effect", "horizontal")) is not None]
    known = [m for m in effects if m.value is not None and m.grade != "unusable"]
    return of(known[0]) if known else "spontaneous nystagmus with fixation: not tested"


def lost_side(findings: Findings) -> str | None:
    """The side from which the quick phases of the nystagmus beat away."""
    found = in_the_dark(findings, "horizontal")
    slowest = limits()["spontaneous_present"].value
    if found is None or abs(found.velocity.value) <= slowest or found.changes:
        return None
    return "right" if found.velocity.value > 0.0 else "left"


NO_SIDE = "no nystagmus of one direction that tells the side"


def impulse_of_side(findings: Findings) -> Found:
    """The impulse gain of the side that the nystagmus beats away from."""
    side = lost_side(findings)
    gain = impulses(findings).get(side or "")
    if gain is None:
        return "head impulses: not tested" if side else NO_SIDE
    return of(gain, remark=f"looked for: {side}")


def impulse_difference(findings: Findings) -> Found:
    """By how much the impulse gain of that side is lower than that of the other."""
    side = lost_side(findings)
    if side is None:
        return NO_SIDE
    found = [
        m for group in findings.groups_of("impulse")
        if (m := named(group, "gain_difference", of="lateral")) and m.value is not None
        and m.grade != "unusable"
    ]  # fmt: skip
    if not found:
        return "head impulses: not tested on both sides"
    sign = -1.0 if side == "right" else 1.0
    return Numbers((_number(found[0], sign),), (found[0],), f"looked for: {side}")


def caloric_weakness(findings: Findings) -> Found:
    """The unilateral weakness, positive where the ear of that side answers less."""
    side, measure = lost_side(findings), weakness(findings)
    if side is None:
        return NO_SIDE
    if measure is None or measure.value is None or measure.grade == "unusable":
        return "calorics: not tested"
    sign = -1.0 if side == "right" else 1.0
    return Numbers((_number(measure, sign),), (measure,), f"looked for: {side}")


CENTRAL = (vertical, changes, turns_with_gaze, suppression_poor)


def central_signs(findings: Findings) -> Found:
    """How many measured central signs are surely there."""
    answers = [ask(findings) for ask in CENTRAL]
    known = [a.chance for a in answers if a.chance is not None]
    if not known:
        return "no central sign was looked for"
    seen = float(sum(chance >= SURE for chance in known))
    return Numbers((Number(seen, seen, seen),), (), f"{seen:.0f} of {len(known)} looked for")


SOURCES: Mapping[str, Callable[[Findings], Found]] = {
    "impulses": both_impulses,
    "calorics": both_ears,
    "chair_gain": chair_gain,
    "chair_lead": chair_lead,
    "constants": both_constants,
    "age": age,
    "fixed_nystagmus": fixed_nystagmus,
    "fixation_effect": fixation_effect,
    "impulse_of_side": impulse_of_side,
    "impulse_difference": impulse_difference,
    "caloric_weakness": caloric_weakness,
    "central_signs": central_signs,
}
