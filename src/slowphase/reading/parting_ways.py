"""What the tests say of low and high frequencies together: where function parts ways or fails.

After a loss on one side the gain of head impulses to the other side falls, too, because the lost
labyrinth no longer helps by falling silent (common practice, no source). So an end of a side is
called weak beside a kept one only where the other side is not weaker there.
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.measure import Side
from slowphase.measures.result import GroupResult
from slowphase.reading.function import SIDES, FunctionPoint, table
from slowphase.reading.limits import limits

LETTERS = {"right": "R", "left": "L"}
WAYS = {
    ("below", "within"): "is weak at low frequencies ({slow}) and kept at high ones ({fast})",
    ("within", "below"): "is kept at low frequencies ({slow}) and weak at high ones ({fast})",
}


def parting_ways(
    points: tuple[FunctionPoint, ...], groups: tuple[GroupResult, ...] = ()
) -> tuple[str, ...]:
    """Sentences on each side, on calorics side against side, and on the chair.

    An end is weak where its whole interval is below the lowest that counts as healthy, and kept
    where its whole interval is not; a value without an interval counts as it is. Ends that are
    not ``sound`` are named at the end of the sentence.
    """
    return (
        *(said for side in SIDES for said in by_side(points, side)),
        *caloric_sides(groups),
        *by_chair(points),
    )


def by_side(points: tuple[FunctionPoint, ...], side: Side) -> Iterator[str]:
    """Calorics of an ear against impulses to its side."""
    known = {(p.test, p.side): p for p in points if p.side and not p.exciting}
    slow, fast = known.get(("caloric", side)), known.get(("impulse", side))
    if slow is None or fast is None:
        return
    ends = (
        (slow, f"calorics, {share_text(slow)} of the lowest healthy total"),
        (fast, f"impulses, {share_text(fast)} of the lowest healthy gain"),
    )
    said = sentence(*ends)
    weak = [point for point, _ in ends if whereabouts(point) == "below"]
    if len(weak) == 2:
        said = f"is weak at low frequencies ({ends[0][1]}) and at high ones ({ends[1][1]})"
    elif said and not weaker_than_other(weak[0], known):
        return
    if said:
        doubt = with_caution({"calorics": slow, "impulses": fast})
        yield f"{LETTERS[side]}: function {said}{doubt}."


def weaker_than_other(weak: FunctionPoint, known: Mapping[tuple[str, Side], FunctionPoint]) -> bool:
    """Whether the other side is not weaker in the same test."""
    other = known.get((weak.test, "left" if weak.side == "right" else "right"))
    return other is None or other.share >= weak.share


def caloric_sides(groups: tuple[GroupResult, ...]) -> Iterator[str]:
    """Which ear answers less, where the difference is surely beyond the limit of a weak ear."""
    found = (m for g in groups if g.kind == "caloric" for m in g.measures
             if m.name == "unilateral_weakness" and m.grade != "unusable")  # fmt: skip
    for measure in found:
        value = measure.value or 0.0
        ends = [abs(end) for end in (measure.low, measure.high) if end is not None] or [abs(value)]
        if (
            min(ends) > limits()["caloric_weakness"].value
            and (measure.low or value) * (measure.high or value) > 0.0
        ):
            sides = ("R", "L") if value < 0.0 else ("L", "R")
            spread = f" ({min(ends):.0f}–{max(ends):.0f})" if len(ends) == 2 else ""
            yield (
                f"Calorics: the {sides[0]} ear answers less than the {sides[1]}; unilateral "
                f"weakness {abs(value):.0f} %{spread}."
            )


def by_chair(points: tuple[FunctionPoint, ...]) -> Iterator[str]:
    """The slow sinusoids against the fast ones, whole responses.

    Published sets of healthy people differ by up to a factor of two at the lowest frequencies: the
    most favourable slow one counts, and both ends must differ by the ratio of ``function.toml``.
    """
    ends_of_chair = table()["parting"]
    whole = [p for p in points if p.test == "sinusoid" and p.side is None]
    slow = [p for p in whole if p.frequency_hz <= ends_of_chair["slow_hz"]]
    fast = [p for p in whole if p.frequency_hz >= ends_of_chair["fast_hz"]]
    if not slow or not fast:
        return
    ends = max(slow, key=lambda p: p.share), max(fast, key=lambda p: p.share)
    named = [(p, f"{p.frequency_hz:g} Hz, {share_text(p)} of the lowest healthy") for p in ends]
    shares = sorted(p.share for p in ends)
    said = sentence(named[0], named[1])
    if said and shares[1] >= ends_of_chair["ratio"] * shares[0]:
        doubt = with_caution({f"{p.frequency_hz:g} Hz": p for p in ends})
        yield f"Rotation: the response {said}{doubt}."


def with_caution(ends: Mapping[str, FunctionPoint]) -> str:
    """What a sentence says of ends, by name, whose measure is not sound; empty where all are."""
    doubted = [name for name, point in ends.items() if point.grade != "sound"]
    return f"; with caution: {' and '.join(doubted)}, see the reasons there" if doubted else ""


def sentence(slow: tuple[FunctionPoint, str], fast: tuple[FunctionPoint, str]) -> str:
    """How two ends, each with its name, part ways; empty where they do not, or not surely."""
    way = WAYS.get((whereabouts(slow[0]), whereabouts(fast[0])), "")
    return way.format(slow=slow[1], fast=fast[1])


def whereabouts(point: FunctionPoint) -> str:
    """``below``, ``within``, or ``unsure`` where the interval holds the lowest healthy value."""
    low = point.share if point.low is None else point.low
    high = point.share if point.high is None else point.high
    return "below" if high < 1.0 else "within" if low >= 1.0 else "unsure"


def share_text(point: FunctionPoint) -> str:
    """A share as it is written."""
    return f"{100.0 * point.share:.0f} %"
