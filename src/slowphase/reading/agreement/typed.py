"""Do typed values agree with the raw recordings of the same test?

Recorded values go before typed ones in everything that is made of them; where both exist they are
held against each other. Typed values have no interval and are taken as they stand.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult, find
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import Beyond, Span, beyond, span, together
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.limits import Limit, limits
from slowphase.reading.pooling import pool
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import quantity, with_interval
from slowphase.reference.normal import Z95

CANALS = tuple(f"{side} {canal}" for canal in ("lateral", "anterior", "posterior")
               for side in ("right", "left"))  # fmt: skip
GAINS = ("gain", "gain_regression")


@dataclass(frozen=True, slots=True)
class Twice:
    """One value that was recorded (with interval) and typed; ``allowed`` is the largest
    difference that is called none, in ``unit``."""

    name: str
    recorded: Span
    typed: float
    unit: str
    allowed: float
    limit: Limit
    measures: tuple[str, str]

    def state(self, among: int) -> Beyond:
        """Whether the two surely differ by more than is allowed."""
        value, low, high = self.recorded
        apart = (value - self.typed, low - self.typed, high - self.typed)
        return beyond(apart, self.allowed, among=among)

    def text(self) -> str:
        """Both values in words."""
        shown = with_interval(*self.recorded, self.unit)
        return f"{self.name}: recorded {shown}, typed {quantity(self.typed, self.unit)}"


def judge(battery: Battery) -> Outcome:
    """Every response to calorics and every impulse gain that exists twice."""
    found = [*irrigated(battery), *impulses(battery)]
    if not found:
        return Outcome("not_tested")
    states = [one.state(len(found)) for one in found]
    apart = [one for one, state in zip(found, states, strict=True) if state == "beyond"]
    words = {
        "apart": "; ".join(one.text() for one in apart),
        "values": "; ".join(one.text() for one in found),
        "limit": "; ".join(dict.fromkeys(f"{o.limit.label}: {o.limit.cited}" for o in found)),
    }
    name = {"beyond": "differ", "within": "alike"}.get(together(states), "unsure")
    items = tuple(item for one in found for item in evidence_of(one))
    return Outcome(name, words, items, panels(found))


def irrigated(battery: Battery) -> Iterator[Twice]:
    """The responses of irrigations that were recorded and typed."""
    if not any(trial.kind == "caloric" for trial in battery.findings.trials):
        return
    from slowphase.measures.caloric_irrigations import PLACES, joined, recorded, spoken, typed

    own, limit = battery.settings.battery.caloric, limits()["typed_caloric"]
    trials = battery.findings.trials
    by_source = [[one for t in trials for one in source(t, own)] for source in (recorded, typed)]
    for place in PLACES:
        seen, given = ([o for o in each if o.place == place and o.usable] for each in by_source)
        if seen and given and joined(seen, own).usable:
            value, error = joined(seen, own).raw
            reach = Z95 * error
            told = given[0].raw[0]
            allowed = limit.value / 100.0 * max(abs(value), abs(told), own.ear_min_deg_s)
            ids = (f"{seen[0].trials[0]}/peak", f"{given[0].trials[0]}/{spoken(place)}/response")
            yield Twice(spoken(place), (value, value - reach, value + reach), told, "deg/s",
                        allowed, limit, ids)  # fmt: skip


def impulses(battery: Battery) -> Iterator[Twice]:
    """The gains of canals that were recorded and typed, of the same name."""
    limit, trials = limits()["typed_impulse"], battery.findings.trials
    for canal in CANALS:
        for name in GAINS:
            seen = gains([t for t in trials if t.kind == "impulse"], name, canal)
            given = gains([t for t in trials if t.kind == "values"], name, canal)
            pooled = pool(seen)
            if pooled is not None and given:
                told = given[0].value or 0.0
                yield Twice(f"{canal} {name.replace('_', ' by ')}", span(pooled), told, "1",
                            limit.value, limit, (seen[0].id, given[0].id))  # fmt: skip


def gains(trials: list[TrialResult], name: str, canal: str) -> list[Measure]:
    """The usable gains of one canal."""
    return [m for trial in trials if (m := find(trial, name, canal)) is not None]


def evidence_of(one: Twice) -> tuple[EvidenceItem, EvidenceItem]:
    """Both values as evidence."""
    held = (f"{one.limit.label}: {one.limit.text}", one.limit.source, one.limit.mark)
    shown = with_interval(*one.recorded, one.unit)
    return (
        EvidenceItem(one.measures[0], shown, *held),
        EvidenceItem(one.measures[1], quantity(one.typed, one.unit)),
    )


def panels(found: list[Twice]) -> tuple[Panel, ...]:
    """Recorded values, with what the typed one allows outlined."""
    units = dict.fromkeys(one.unit for one in found)
    titles = {"deg/s": "caloric responses", "1": "impulse gains"}
    return tuple(
        Panel(
            f"{titles[unit]} as recorded; band: typed, with the limit",
            unit,
            tuple(
                Row(one.name, *one.recorded, (one.typed - one.allowed, one.typed + one.allowed))
                for one in found
                if one.unit == unit
            ),
        )
        for unit in units
    )
