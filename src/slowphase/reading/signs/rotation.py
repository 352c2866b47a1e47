"""Signs of the response to rotation: how much, how long, how early, and from which side more."""

from collections.abc import Iterator, Sequence

from slowphase.fit.healthy import healthy_model
from slowphase.measures.measure import Measure, Side
from slowphase.measures.result import TrialResult
from slowphase.reading.coherence import lead_deg
from slowphase.reading.findings import (
    Findings,
    dark_sinusoids,
    frequency_hz,
    named,
    step_measures,
)
from slowphase.reading.half_gains import asymmetry
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool, usable
from slowphase.reading.signs.sign import (
    OPEN,
    Answer,
    all_of,
    chance_above,
    chance_below,
    held,
    size_of,
)
from slowphase.reading.words import quantity

SILENT = "no_response"
SIDES: tuple[Side, Side] = ("right", "left")


def plateau(findings: Findings) -> list[Measure]:
    """The dark gains of the frequencies at which a healthy one has reached its plateau."""
    from_hz = limits()["plateau_frequency"].value
    trials = (t for t in dark_sinusoids(findings) if frequency_hz(t) >= from_hz)
    found = [m for t in trials if (m := named(t, "gain")) and m.value is not None]
    return [m for m in found if m.grade != "unusable"] or step_gains(findings)


def step_gains(findings: Findings) -> list[Measure]:
    """The gains of steps, which stand in where no sinusoid can."""
    return [m for m in step_measures(findings, "gain", None, None) if usable(m)]


def gain_very_low(findings: Findings) -> Answer:
    """Every gain of the plateau below what is called weak."""
    gains = plateau(findings)
    limit = limits()["weak_response"].value
    low = [1.0 if SILENT in m.why else chance_below(limit, pool([m])) for m in gains]
    return Answer(all_of(low), held(gains, "weak_response"))


def gain_low(findings: Findings) -> Answer:
    """The mean gain of the plateau in the lowest sixth of the healthy."""
    gains = plateau(findings)
    found = mean_of(gains)
    return Answer(chance_below(limits()["gain_lowest_sixth"].value, found),
                  held(gains, "gain_lowest_sixth"))  # fmt: skip


def mean_of(measures: Sequence[Measure]) -> Pooled | None:
    """The plain mean, so that no frequency decides alone, with the mean half width."""
    known = [pool([m]) for m in measures]
    found = [p for p in known if p is not None]
    if not found:
        return None
    n = len(found)
    parts = (sum(p.value for p in found), sum(p.low for p in found), sum(p.high for p in found))
    value, low, high = (part / n for part in parts)
    return Pooled(value, low, high, tuple(m for p in found for m in p.members))


def constants(findings: Findings, side: Side | None) -> Pooled | None:
    """The times to 1/e of the responses that excite a side; all where it is None."""
    return pool(step_measures(findings, "time_constant", "one_over_e", side))


def constant_short(findings: Findings) -> Answer:
    """The time constants of both directions short."""
    return _constants_below(findings, "time_constant")


def constant_very_short(findings: Findings) -> Answer:
    """The time constants of both directions as short as in a severe loss of both sides."""
    return _constants_below(findings, "constant_very_short")


def _constants_below(findings: Findings, code: str) -> Answer:
    limit = limits()[code].value
    return _of_both(findings, code, [chance_below(limit, constants(findings, s)) for s in SIDES])


def constant_long(findings: Findings) -> Answer:
    """The time constants of both directions long."""
    limit = limits()["time_constant_long"].value
    chances = [chance_above(limit, constants(findings, side)) for side in SIDES]
    return _of_both(findings, "time_constant_long", chances)


def _of_both(findings: Findings, code: str, chances: list[float | None]) -> Answer:
    """Both directions; open where one of them was not had."""
    both = constants(findings, None)
    if both is None or None in chances:
        return OPEN
    sides = {side: constants(findings, side) for side in SIDES}
    shown = ", ".join(f"{s[0].upper()} {quantity(p.value, 's')}" for s, p in sides.items() if p)
    return Answer(all_of(chances), held(both.members, code), shown)


def slow_leads(findings: Findings) -> list[tuple[TrialResult, Measure]]:
    """The phases at the low frequencies, where storage decides."""
    below = limits()["slow_frequency"].value
    trials = [t for t in dark_sinusoids(findings) if 0.0 < frequency_hz(t) <= below]
    found = [(t, m) for t in trials if (m := named(t, "phase")) is not None and usable(m)]
    return [(t, m) for t, m in found if (m.low or 0.0) < (m.high or 0.0)]


def lead_large(findings: Findings) -> Answer:
    """The slowest response leads more than the healthy model at its short end."""
    return _lead(findings, longer=False)


def lead_small(findings: Findings) -> Answer:
    """The slowest response leads less than the healthy model at its long end."""
    return _lead(findings, longer=True)


def _lead(findings: Findings, *, longer: bool) -> Answer:
    found = slow_leads(findings)
    if not found:
        return OPEN
    trial, phase = found[0]
    model = healthy_model()
    decay, adaptation = model["decay_right"], model["adaptation"]
    ends = (decay.high, adaptation.high) if longer else (decay.low, adaptation.low)
    limit = float(lead_deg(frequency_hz(trial), *ends))
    single = pool([phase])
    chance = chance_below(limit, single) if longer else chance_above(limit, single)
    return Answer(chance, held([phase]))


def right_weaker(findings: Findings) -> Answer:
    """Responses that excite the right smaller than the opposite ones."""
    return _weaker(findings, -1.0)


def left_weaker(findings: Findings) -> Answer:
    """Responses that excite the left smaller than the opposite ones."""
    return _weaker(findings, 1.0)


def _weaker(findings: Findings, sign: float) -> Answer:
    found = list(asymmetries(findings))
    whole = pool([measure for measure, _ in found])
    if whole is None:
        return OPEN
    limit = limits()["negligible_asymmetry"].value
    chance = chance_below(-limit, whole) if sign < 0 else chance_above(limit, whole)
    shown = size_of(whole, "%")
    items = [
        item
        for measure, sources in found
        for item in (held(sources) if sources else held([measure], "negligible_asymmetry"))
    ]
    return Answer(chance, tuple(items), shown)


def asymmetries(findings: Findings) -> Iterator[tuple[Measure, tuple[Measure, ...]]]:
    """What both directions differ by, in %: of steps as measured, and of the half gains of the
    plateau, each with the measures it was made of."""
    for pair in findings.pairs_of("step_sides"):
        measure = named(pair, "asymmetry")
        if measure is not None and usable(measure):
            yield measure, ()
    from_hz = limits()["plateau_frequency"].value
    for trial in dark_sinusoids(findings):
        gain = named(trial, "gain")
        if frequency_hz(trial) >= from_hz and gain is not None and SILENT not in gain.why:
            yield from of_halves(trial)


def of_halves(trial: TrialResult) -> Iterator[tuple[Measure, tuple[Measure, ...]]]:
    """100·(R − L)/(R + L) of the half gains of a trial, where both may be used."""
    right, left = (named(trial, f"gain_{side}") for side in SIDES)
    if right is None or left is None or not usable(right) or not usable(left):
        return
    if (right.value or 0.0) + (left.value or 0.0) <= 0.0:
        return
    found = asymmetry(right, left)
    measure = Measure(
        f"{trial.id}/half_gains", "asymmetry", found.value, found.low, found.high, "%"
    )
    yield measure, (right, left)
