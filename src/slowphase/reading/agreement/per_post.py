"""Do the per- and the post-rotatory response of the same exciting direction agree?

Speeding up to the right and stopping from a leftward spin excite the same side. Each response is
that of its own change of velocity, bias and what is left of the earlier one taken out, so that
gain and time constant should be alike; their ratios are held against a limit.
"""

from dataclasses import dataclass
from math import log1p

from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import Beyond, beyond, log_ratio, together
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.findings import step_measures
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rule import evidence
from slowphase.reading.words import with_interval

LETTERS = {"right": "R", "left": "L"}
COMPARED = (("gain", None, "1", "gain"), ("time_constant", "one_over_e", "s", "time to 1/e"))


@dataclass(frozen=True, slots=True)
class Two:
    """Per- and post-rotatory value of one measure and exciting direction."""

    side: str
    name: str
    unit: str
    per: Pooled
    post: Pooled

    def text(self) -> str:
        """Both values in words."""
        per, post = (
            with_interval(p.value, p.low, p.high, self.unit) for p in (self.per, self.post)
        )
        return f"{LETTERS[self.side]} excited, {self.name} {per} against {post}"


def judge(battery: Battery) -> Outcome:
    """Every gain and time constant that both kinds of response have."""
    pairs = twos(battery)
    if not pairs:
        return Outcome("not_tested")
    limit = limits()["agreement_per_post"]
    states = [state_of(two, log1p(limit.value / 100.0), len(pairs)) for two in pairs]
    apart = [two for two, state in zip(pairs, states, strict=True) if state == "beyond"]
    members = [m for two in pairs for part in (two.per, two.post) for m in part.members]
    words = {
        "values": "; ".join(two.text() for two in pairs),
        "apart": "; ".join(two.text() for two in apart),
        "limit": limit.cited,
    }
    name = {"beyond": "differ", "within": "alike"}.get(together(states), "unsure")
    return Outcome(name, words, tuple(evidence(m, limit) for m in members), panels(pairs))


def twos(battery: Battery) -> list[Two]:
    """The measures that can be compared, gains before time constants, R before L."""
    return [
        Two(side, title, unit, per, post)
        for name, definition, unit, title in COMPARED
        for side in ("right", "left")
        if (per := pooled(battery, name, definition, side, "per")) is not None
        and (post := pooled(battery, name, definition, side, "post")) is not None
    ]


def pooled(
    battery: Battery, name: str, definition: str | None, side: str, of: str
) -> Pooled | None:
    """The per- or post-rotatory responses of one exciting direction as one."""
    found = step_measures(battery.findings, name, definition, None)
    return pool([m for m in found if m.of == of and m.exciting == side])


def state_of(two: Two, limit: float, among: int) -> Beyond:
    """Whether the two differ by more than a ratio (natural logarithm)."""
    ratio = log_ratio(two.per, two.post)
    return "unsure" if ratio is None else beyond(ratio, limit, among=among)


def panels(pairs: list[Two]) -> tuple[Panel, ...]:
    """A panel for each measure, per- above post-rotatory."""
    names = dict.fromkeys((two.name, two.unit) for two in pairs)
    return tuple(
        Panel(name, unit, tuple(row for two in pairs if two.name == name for row in rows(two)))
        for name, unit in names
    )


def rows(two: Two) -> tuple[Row, Row]:
    """Both responses as lines of a picture."""
    letter = LETTERS[two.side]
    return (
        Row(f"{letter} excited, per", two.per.value, two.per.low, two.per.high),
        Row(f"{letter} excited, post", two.post.value, two.post.low, two.post.high),
    )
