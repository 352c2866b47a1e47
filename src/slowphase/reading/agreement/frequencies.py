"""Do calorics, rotation and impulses tell the same, side by side and across frequency?

Shares of the lowest healthy value come from `reading.function`, sentences on where function parts
ways from `reading.parting_ways`. Calorics are held against the impulses to their side, and calorics
of both ears against the slow sinusoids. Tests disagree where one is weak, the other kept, and their
shares differ by a factor: the yardsticks of different tests are no closer. That rotation alone
is weaker at low frequencies is what a loss of both sides does, and no disagreement of tests.
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.measure import Side
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import Beyond
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.function import SIDES, FunctionPoint, table
from slowphase.reading.limits import limits
from slowphase.reading.parting_ways import (
    LETTERS,
    by_chair,
    by_side,
    weaker_than_other,
    whereabouts,
)
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import number, with_interval

Points = tuple[FunctionPoint, ...]
Known = Mapping[tuple[str, Side | None], FunctionPoint]
NAMES = {"caloric": "calorics", "impulse": "impulses", "sinusoid": "sinusoid"}
KEPT = {"below": "weak", "within": "kept"}


def judge(battery: Battery) -> Outcome:
    """Calorics against impulses by side, and against slow rotation."""
    points = battery.function
    known = ends_of(points)
    pairs = [*side_pairs(known), *chair_pairs(known)]
    if not pairs:
        return Outcome("not_tested")
    states = [owed(pair, known) or state_of(*pair) for pair in pairs]
    told = [
        *(sentence for side in SIDES for sentence in by_side(points, side)),
        *by_chair(points),
        *(between(pair) for pair in chair_pairs(known) if state_of(*pair) == "beyond"),
    ]
    shown = [p for p in points if p.test in ("caloric", "impulse") or whole(p)]
    words = {"sentences": " ".join(told), "limit": f"{limits()['agreement_frequencies'].value:g}"}
    items = tuple(EvidenceItem(p.measure, share(p)) for p in shown)
    return Outcome(outcome_of(states, near=slight(pairs, known)), words, items, panels(shown))


def outcome_of(states: list[Beyond], *, near: bool) -> str:
    """The name of how the pairs come together."""
    if "beyond" in states:
        return "part"
    if all(state == "within" for state in states):
        return "alike"
    return "slight" if near else "unsure"


def slight(pairs: list[tuple[FunctionPoint, FunctionPoint]], known: Known) -> bool:
    """Whether all that cannot be told is a pair that surely differs, by less than the factor."""
    open_ = [pair for pair in pairs if (owed(pair, known) or state_of(*pair)) == "unsure"]
    sure = ("unsure" not in (whereabouts(one), whereabouts(two)) for one, two in open_)
    return all(sure) and not any(owed(pair, known) for pair in open_)


def ends_of(points: Points) -> Known:
    """Calorics and impulses by side, and the slow sinusoid that is the most favourable."""
    known: dict[tuple[str, Side | None], FunctionPoint] = {
        (p.test, p.side): p for p in points if p.test in ("caloric", "impulse")
    }
    slow = [p for p in points if whole(p) and p.frequency_hz <= table()["parting"]["slow_hz"]]
    if slow:
        known["sinusoid", None] = max(slow, key=lambda p: p.share)
    return known


def side_pairs(known: Known) -> Iterator[tuple[FunctionPoint, FunctionPoint]]:
    """Calorics of an ear and impulses to its side."""
    for side in SIDES:
        if ("caloric", side) in known and ("impulse", side) in known:
            yield known["caloric", side], known["impulse", side]


def chair_pairs(known: Known) -> Iterator[tuple[FunctionPoint, FunctionPoint]]:
    """The calorics of both ears, the stronger or the weaker one, and slow rotation.

    The chair turns both labyrinths: it is held against the ear that is nearest to it.
    """
    ears = [known["caloric", side] for side in SIDES if ("caloric", side) in known]
    chair = known.get(("sinusoid", None))
    if chair is not None and len(ears) == len(SIDES):
        yield min(ears, key=lambda ear: abs(ear.share - chair.share)), chair


def state_of(one: FunctionPoint, two: FunctionPoint) -> Beyond:
    """``beyond`` where one is surely weak, the other surely kept, and their shares lie a factor
    apart; ``within`` where both are on the same side of the lowest healthy value."""
    places = whereabouts(one), whereabouts(two)
    if "unsure" in places:
        return "unsure"
    if places[0] == places[1]:
        return "within"
    low, high = sorted((one.share, two.share))
    factor = limits()["agreement_frequencies"].value
    return "beyond" if high >= factor * max(low, 0.0) else "unsure"


def owed(pair: tuple[FunctionPoint, FunctionPoint], known: Known) -> Beyond | None:
    """``unsure`` where a weak end may be owed to a loss of the other side; else None."""
    weak = [p for p in pair if whereabouts(p) == "below"]
    if len(weak) != 1 or weak[0].side is None:
        return None
    return None if weaker_than_other(weak[0], sides_known(known)) else "unsure"


def sides_known(known: Known) -> dict[tuple[str, Side], FunctionPoint]:
    """The points that belong to a side."""
    return {(test, side): point for (test, side), point in known.items() if side is not None}


def between(pair: tuple[FunctionPoint, FunctionPoint]) -> str:
    """Calorics beside slow rotation, as a sentence."""
    ear, chair = pair
    return (
        f"Calorics of the nearer ear are {KEPT[whereabouts(ear)]} ({percent(ear)} of the lowest "
        f"healthy), rotation at {chair.frequency_hz:g} Hz is {KEPT[whereabouts(chair)]} "
        f"({percent(chair)})."
    )


def percent(point: FunctionPoint) -> str:
    """A share as it is written."""
    return f"{number(100.0 * point.share, '%')} %"


def whole(point: FunctionPoint) -> bool:
    """Whether a point is the whole response to a sinusoid."""
    return point.test == "sinusoid" and point.side is None


def share(point: FunctionPoint) -> str:
    """A point in words: its share of the lowest healthy value."""
    return f"{with_interval(100.0 * point.share, *ends(point), '%')} of the lowest healthy value"


def ends(point: FunctionPoint) -> tuple[float | None, float | None]:
    """The interval of a share, in percent."""
    low, high = (None if end is None else 100.0 * end for end in (point.low, point.high))
    return low, high


def panels(shown: list[FunctionPoint]) -> tuple[Panel, ...]:
    """Shares by side and for the chair, slow above fast."""
    groups = [(LETTERS[side], [p for p in shown if p.side == side]) for side in SIDES]
    groups.append(("rotation", [p for p in shown if p.side is None]))
    return tuple(
        Panel(f"{title} (line: lowest healthy)", "%", tuple(row(p) for p in points))
        for title, points in groups
        if points
    )


def row(point: FunctionPoint) -> Row:
    """One point as a line of a picture."""
    name = NAMES[point.test]
    label = f"{name}, {point.frequency_hz:g} Hz" if whole(point) else name
    return Row(label, 100.0 * point.share, *ends(point), (100.0, 100.0))
