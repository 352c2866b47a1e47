"""Do all signs of a side point the same way?

On one axis, positive to the right: nystagmus that beats to the R, and responses that are stronger
on the R, which after a loss on the left go together. What is steady (deg/s) and what compares
sides (%) are each held against a limit; signs that surely point opposite ways do not agree.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.reading.agreement.battery import (
    Battery,
    answering,
    half_asymmetries,
    of_group,
    of_trials,
    step_asymmetry,
)
from slowphase.reading.agreement.chance import Span, Way, span, way
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.agreement.weaker_side import ENDS, beats, middle_of
from slowphase.reading.limits import Limit, limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rule import evidence
from slowphase.reading.rules.nystagmus import in_the_dark
from slowphase.reading.words import number, unit_words

TITLES = {"deg/s": "beats to", "%": "beats to, or stronger on"}


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of a side: its name, signed value (positive: R), limit, and what it rests on."""

    name: str
    span: Span
    limit: Limit
    members: tuple[Measure, ...]

    @property
    def way(self) -> Way:
        """Which way it surely points."""
        return way(self.span, self.limit.value)

    def text(self) -> str:
        """The sign in words: ``spontaneous nystagmus 6.1 deg/s``."""
        unit = self.limit.unit
        return f"{self.name} {number(abs(self.span[0]), unit)} {unit_words(unit)}"


def judge(battery: Battery) -> Outcome:
    """All signs of the session together."""
    found = [*steady(battery), *sided(battery)]
    if len(found) < 2:
        return Outcome("not_tested")
    pointing = {side: [s for s in found if s.way == side] for side in ("right", "left")}
    words = {
        "right": "; ".join(sign.text() for sign in pointing["right"]),
        "left": "; ".join(sign.text() for sign in pointing["left"]),
        "one": "; ".join(sign.text() for sign in (*pointing["right"], *pointing["left"])),
        "side": "right" if pointing["right"] else "left",
        "others": "; ".join(s.name for s in found if s.way in ("neither", "unsure")) or "none",
    }
    items = tuple(evidence(m, sign.limit) for sign in found for m in sign.members)
    return Outcome(outcome_of(found), words, items, panels(found))


def outcome_of(found: list[Sign]) -> str:
    """The name of how the signs come together."""
    ways = [sign.way for sign in found]
    right, left = ways.count("right"), ways.count("left")
    if right and left:
        return "apart"
    if right + left > 1:
        return "together"
    if right + left:
        return "one_alone"
    return "none" if all(one == "neither" for one in ways) else "unsure"


def steady(battery: Battery) -> Iterator[Sign]:
    """Nystagmus without rotation or irrigation, and the bias of rotations, by the way it beats."""
    limit = limits()["agreement_nystagmus"]
    nystagmus = in_the_dark(battery.findings, "horizontal")
    if nystagmus is not None:
        members = nystagmus.velocity.members
        yield Sign("spontaneous nystagmus", beats(nystagmus), limit, members)
    dark = [m for t in battery.findings.of_kind("step") for m in t.measures if m.name == "bias"]
    for name, measures in (
        ("bias of sinusoids", answering(battery, "bias")),
        ("bias of steps", dark),
        ("nystagmus before irrigations", of_trials(battery, "caloric", "spontaneous")),
    ):
        pooled = pool(measures)
        if pooled is not None:
            turned = (-pooled.value, -pooled.high, -pooled.low)
            yield Sign(name, turned, limit, pooled.members)


def sided(battery: Battery) -> Iterator[Sign]:
    """Comparisons of sides and directions in percent; positive: R stronger, or R-beating."""
    table = limits()
    slight = table["negligible_asymmetry"]
    for name, pooled in (
        ("steps, exciting direction", step_asymmetry(battery)),
        ("half gains of sinusoids", middle_of(half_asymmetries(battery))),
    ):
        if pooled is not None:
            yield sign(name, pooled, slight)
    for name, kind, measure, limit in (
        ("calorics, stronger ear", "caloric", "unilateral_weakness", table["caloric_weakness"]),
        ("calorics, preponderance", "caloric", "directional_preponderance",
         table["caloric_preponderance"]),
        ("impulses, better side", "impulse", "asymmetry", slight),
    ):  # fmt: skip
        found = of_group(battery, kind, measure)
        if found is not None:
            yield sign(name, found, limit)


def sign(name: str, value: Pooled | Measure, limit: Limit) -> Sign:
    """A sign from a value that is positive to the right."""
    members = value.members if isinstance(value, Pooled) else (value,)
    return Sign(name, span(value), limit, members)


def within(limit: Limit) -> tuple[float, float]:
    """What points no way, for the band of a picture."""
    return -limit.value, limit.value


def panels(found: list[Sign]) -> tuple[Panel, ...]:
    """Everything on an axis from L to R, one panel for each unit."""
    return tuple(
        Panel(
            TITLES[unit],
            unit,
            tuple(Row(s.name, *s.span, within(s.limit)) for s in found if s.limit.unit == unit),
            ENDS,
        )
        for unit in TITLES
        if any(sign.limit.unit == unit for sign in found)
    )
