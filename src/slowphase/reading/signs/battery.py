"""Signs of the tests beside the chair: suppression, pursuit, calorics, head impulses."""

from collections.abc import Iterator

from slowphase.measures.impulse.together import canal_gain
from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool, usable
from slowphase.reading.rule import plain
from slowphase.reading.rules.caloric import goes_wrong
from slowphase.reading.rules.pursuit import slow_gains
from slowphase.reading.rules.suppression import judge as judge_suppression
from slowphase.reading.signs.sign import (
    OPEN,
    Answer,
    all_of,
    any_of,
    chance_above,
    chance_below,
    held,
    of_sides,
    pooled,
)

SIDES = ("right", "left")
PARTING = "see the function across frequency"
JUDGED = ("poor", "good", "near")  # outcomes of the rule of suppression that rest on its value


def suppression_poor(findings: Findings) -> Answer:
    """The modulated part is poorly suppressed in some pair, as the statement's rule judges it."""
    found = sorted(suppressions(findings), key=lambda m: m.value or 0.0)
    limit = limits()["suppression"].value
    return Answer(any_of(chance_below(limit, pool([m])) for m in found), held(found, "suppression"))


def suppressions(findings: Findings) -> Iterator[Measure]:
    """Suppression of the pairs that the statement's rule can judge."""
    pairs = findings.pairs_of("suppression")
    for pair, judged in zip(pairs, judge_suppression(findings), strict=True):
        measure = named(pair, "suppression")
        if measure is not None and judged.outcome in JUDGED:
            yield measure


def pursuit_poor(findings: Findings) -> Answer:
    """Pursuit of some slow target lags far behind it."""
    gains = sorted(slow_gains(findings), key=lambda m: m.value or 0.0)
    limit = limits()["pursuit_gain"].value
    return Answer(
        any_of(chance_below(limit, pool([m])) for m in gains), held(gains, "pursuit_gain")
    )


def weakness(findings: Findings) -> Measure | None:
    """The unilateral weakness of the calorics."""
    groups = findings.groups_of("caloric")
    return named(groups[0], "unilateral_weakness") if groups else None


def ears(findings: Findings) -> dict[str, Measure]:
    """The caloric total of each ear that has one."""
    groups = findings.groups_of("caloric")
    found = {side: named(groups[0], "total", of=f"{side} ear") for side in SIDES} if groups else {}
    return {side: m for side, m in found.items() if m is not None and m.value is not None}


def caloric_right(findings: Findings) -> Answer:
    """The right ear answers irrigation less."""
    found = pooled([weakness(findings)])
    limit = limits()["caloric_weakness"].value
    return _ears(findings, chance_below(-limit, found))


def caloric_left(findings: Findings) -> Answer:
    """The left ear answers irrigation less."""
    found = pooled([weakness(findings)])
    return _ears(findings, chance_above(limits()["caloric_weakness"].value, found))


def _ears(findings: Findings, chance: float | None) -> Answer:
    """Where both ears hardly answer, there is no weaker one."""
    measure = weakness(findings)
    if chance is None:
        chance = 0.0 if (caloric_both(findings).chance or 0.0) > 0.5 else None
    shown = [measure] if measure is not None and measure.value is not None else []
    return Answer(chance, (*held(shown, "caloric_weakness"), *held(ears(findings).values())))


def caloric_both(findings: Findings) -> Answer:
    """Both ears answer irrigation little."""
    totals = ears(findings)
    if len(totals) < len(SIDES):
        return OPEN
    limit = limits()["caloric_low_total"].value
    if any(map(goes_wrong, totals.values())):
        return OPEN
    low = [chance_below(limit, pool([m])) for m in totals.values()]
    return Answer(all_of(low), held(totals.values(), "caloric_low_total"), of_sides(totals))


def ear_works(findings: Findings) -> Answer:
    """At least one ear answers irrigation well."""
    totals = ears(findings)
    limit = limits()["caloric_ear_works"].value
    well = [chance_above(limit, pool([m])) for m in totals.values()]
    return Answer(any_of(well), held(totals.values(), "caloric_ear_works"), of_sides(totals))


def impulses(findings: Findings) -> dict[str, Measure]:
    """The gain of either lateral canal."""
    groups = findings.groups_of("impulse")
    members = {id_ for group in groups for id_ in group.trials}
    trials = [trial for trial in findings.trials if trial.id in members]
    found = {side: canal_gain(trials, f"{side} lateral", "gain") for side in SIDES}
    return {side: gain for side, gain in found.items() if gain is not None and usable(gain)}


def impulse_right(findings: Findings) -> Answer:
    """The gain of impulses to the right is low, and lower than to the left."""
    return _impulse(findings, "right", -1.0)


def impulse_left(findings: Findings) -> Answer:
    """The gain of impulses to the left is low, and lower than to the right."""
    return _impulse(findings, "left", 1.0)


def _impulse(findings: Findings, side: str, sign: float) -> Answer:
    """Where the other side was not tested, a low gain is enough."""
    gains = impulses(findings)
    own = gains.get(side)
    low = chance_below(limits()["impulse_gain"].value, pooled([own]))
    if own is None or low is None:
        return OPEN
    groups = findings.groups_of("impulse")
    difference = [m for g in groups if (m := named(g, "gain_difference", of="lateral"))]
    found, limit = pooled(difference), limits()["impulse_difference"].value
    less = chance_below(-limit, found) if sign < 0 else chance_above(limit, found)
    first = dict(sorted(gains.items(), key=lambda item: item[0] != side))
    items = held(first.values(), "impulse_gain")
    if len(gains) < len(SIDES):
        return Answer(low, items, plain(own))
    more = held([m for m in difference if m.value is not None], "impulse_difference")
    return Answer(all_of([low, less]), (*items, *more), plain(own))


def impulse_both(findings: Findings) -> Answer:
    """The gain of impulses is low to both sides."""
    return _both_below(findings, "impulse_gain")


def impulse_both_criterion(findings: Findings) -> Answer:
    """The gain of impulses is below that of bilateral vestibulopathy to both sides."""
    return _both_below(findings, "bilateral_impulse")


def _both_below(findings: Findings, code: str) -> Answer:
    gains = impulses(findings)
    if len(gains) < len(SIDES):
        return OPEN
    limit = limits()[code].value
    low = [chance_below(limit, pool([m])) for m in gains.values()]
    return Answer(all_of(low), held(gains.values(), code), of_sides(gains))


def parts_ways(findings: Findings) -> Answer:
    """On a side, or on both, calorics and impulses part ways: one is low, the other is not.

    A loss on one side lowers the impulse gain to the other, too: only the lower side counts, or
    both where no ear is weak.
    """
    chances = [_apart(findings, side) for side in SIDES]
    heat = [ask(findings).chance for ask in (caloric_right, caloric_left, caloric_both)]
    weak = any_of(heat)
    both = impulse_both(findings).chance
    alone = all_of([both, None if weak is None else 1.0 - weak])
    shown = (*ears(findings).values(), *impulses(findings).values())
    return Answer(any_of([*chances, alone]), held(shown), PARTING)


def _apart(findings: Findings, side: str) -> float | None:
    heat = (caloric_right if side == "right" else caloric_left)(findings).chance
    weak = any_of([heat, caloric_both(findings).chance])
    gain = pooled([impulses(findings).get(side)])
    low = chance_below(limits()["impulse_gain"].value, gain)
    lower = (impulse_right if side == "right" else impulse_left)(findings).chance
    if weak is None or low is None or lower is None:
        return None
    return max(min(weak, 1.0 - low), min(lower, 1.0 - weak))
