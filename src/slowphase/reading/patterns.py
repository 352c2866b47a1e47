"""Which pattern a session shows: declared expectations of signs, weighed and ranked.

Under a pattern a sign is expected with a chance e (``patterns.toml``: always, usual, either,
seldom, never). A sign that was answered with chance p fits the pattern with likelihood

    p·e + (1 − p)·(1 − e)

and earns it log2 of twice that in points: 0 where the pattern expects neither or the sign is
undecided, up to about +1 for a sign as expected, and down to about −4 for one that should not be.
Open signs earn nothing. Points are summed over all signs and taken down to a share of them, since
signs of one patient are not independent; belief is shared among the patterns in proportion to two
to the power of that, each pattern with its best variant. Where low alertness, calibration
or light spoil the session, no pattern is read from it, whatever its points.
"""

import math
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from slowphase.reading.cautions import caution
from slowphase.reading.findings import Findings
from slowphase.reading.pattern_strength import is_told, strength_of, surely
from slowphase.reading.pattern_table import NORMAL, OTHER, Row, Weighed, pattern_table, rows
from slowphase.reading.rule import weaker
from slowphase.reading.signs import Sign, signs_of

SPOILING = (
    "little_usable",
    "doubtful_recording",
    "drowsy",
    "reversed_irrigations",
    "mirrored",
)  # the last one that holds is named


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern with its evidence.

    ``code`` is stable; ``side`` is the side of a loss, ``variant`` its stage or degree. ``share``
    (0–1) is its part of the belief, ``points`` the sum over the signs. ``strength`` is ``firm``,
    ``moderate`` or ``weak``; ``fit`` holds the signs that speak for it, ``against`` those that
    speak against it, the weightiest first; ``open`` titles of signs that would tell and were not
    tested; ``weighed`` is every answered sign. ``side_told`` says whether the side rests on more
    than a nystagmus or rotation alone: else the pattern is not named.
    """

    code: str
    side: str | None
    variant: str
    title: str
    text: str
    strength: str
    share: float
    points: float
    fit: tuple[Weighed, ...] = ()
    against: tuple[Weighed, ...] = ()
    open: tuple[str, ...] = ()
    weighed: tuple[Weighed, ...] = ()
    told_apart: str = ""
    does_not_show: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    side_told: bool = True


@dataclass(frozen=True, slots=True)
class PatternReading:
    """The patterns of a session, the likeliest first; ``told`` says whether the first is named.

    ``signs`` are all signs, answered or open, that the patterns were held against.
    """

    told: bool
    ranking: tuple[Pattern, ...]
    signs: tuple[Sign, ...] = ()

    @property
    def first(self) -> Pattern | None:
        """The pattern that is named; None where it cannot be told."""
        return self.ranking[0] if self.told and self.ranking else None


def read_patterns(findings: Findings) -> PatternReading:
    """The patterns of a session, ranked, each with its evidence."""
    signs = signs_of(findings)
    ranked = _ranked(signs)
    spoilt = _spoilt(signs, readable=bool(ranked))
    if spoilt is not None:
        weak = tuple(_as_strong_as(pattern, "weak") for pattern in ranked)
        return PatternReading(True, (spoilt, *weak), tuple(signs.values()))
    first = ranked[0]
    told = first.share >= pattern_table()["weighing"]["told_from"] and not _denied(first)
    side_open = first.side is not None and not first.side_told
    return PatternReading(told and not side_open, ranked, tuple(signs.values()))


def _denied(pattern: Pattern) -> bool:
    """Whether the healthy pattern leads although a sign is surely there that no healthy person has:
    then none of the patterns fits."""
    return pattern.code == NORMAL and any(
        w.expected == "never" and surely(w.sign) for w in pattern.against
    )


def _spoilt(signs: Mapping[str, Sign], *, readable: bool) -> Pattern | None:
    """The pattern of a session that cannot be interpreted; None for all others."""
    known = {code for row in rows() for code in row.needs if signs[code].chance is not None}
    enough = readable and _decided(signs)
    because = "" if enough else "undecided" if known else "nothing_tested"
    for code in SPOILING:
        if (signs[code].chance or 0.0) > pattern_table()["weighing"]["likely"]:
            because = code
    if not because:
        return None
    entry = pattern_table()["not_interpretable"]
    sign = signs.get(because)
    return Pattern(
        code=entry["code"],
        side=None,
        variant=because,
        title=entry["title"],
        text=entry["because"][because],
        strength="moderate",
        share=1.0,
        points=0.0,
        fit=(Weighed(sign, "always", 1.0),) if sign else (),
        told_apart=entry["told_apart"],
        does_not_show=tuple(entry["does_not_show"]),
        cautions=(caution("low_alertness"),) if because == "drowsy" else (),
    )


def _decided(signs: Mapping[str, Sign]) -> bool:
    """Whether enough signs are surely there or surely not."""
    weighing = pattern_table()["weighing"]
    known = [s.chance for s in signs.values() if s.chance is not None and s.test != "recording"]
    sure = [p for p in known if max(p, 1.0 - p) >= weighing["decided_from"]]
    return len(sure) >= weighing["signs_least"]


def _ranked(signs: Mapping[str, Sign]) -> tuple[Pattern, ...]:
    """One pattern for each code, as its best variant, the likeliest first."""
    tested = [row for row in rows() if _is_read(row, signs)]
    if not tested:
        return ()
    weighed = [(row, tuple(_weigh(row, signs))) for row in tested]
    weighed = [(row, own) for row, own in weighed if row.code == NORMAL or any(map(_speaks, own))]
    if not weighed:
        return ()
    points = [sum(w.points for w in found) for _, found in weighed]
    belief = _belief([row.code for row, _ in weighed], points)
    known = {code for code, sign in signs.items() if sign.chance is not None}
    best = {row.code: _best(row.code, weighed, points, known) for row, _ in weighed}
    found = (
        _pattern(row, own, total, belief[row.code], signs) for row, own, total in best.values()
    )
    return tuple(sorted(found, key=lambda pattern: -pattern.share))


def _best(
    code: str,
    weighed: Sequence[tuple[Row, tuple[Weighed, ...]]],
    points: Sequence[float],
    known: Set[str],
) -> tuple[Row, tuple[Weighed, ...], float]:
    """The best variant of a pattern; one of no stage where the next is hardly behind, or where
    nothing was tested that tells the stages apart."""
    own = [(r, w, p) for (r, w), p in zip(weighed, points, strict=True) if r.code == code]
    own.sort(key=lambda triple: -triple[2])
    row, found, total = own[0]
    apart = pattern_table()["weighing"]["variants_apart"]
    names = {"side": row.side or "", "other": OTHER.get(row.side or "", "")}
    telling = {sign.format(**names) for sign in row.entry.get("variant_needs", known)}
    if len(own) > 1 and (total - own[1][2] < apart or not telling & known):
        title, told = row.entry["title"].format(**names), row.entry.get("variant_not_told", "")
        row = replace(row, variant="", title=f"{title}, {told}" if told else title)
    return row, found, total


def _is_read(row: Row, signs: Mapping[str, Sign]) -> bool:
    """Whether anything that the pattern needs was tested; of a side something must be seen."""
    known = [signs[code].chance for code in row.needs if signs[code].chance is not None]
    least = pattern_table()["weighing"]["likely"] if row.side is not None else 0.0
    return any((chance or 0.0) >= least for chance in known)


def _weigh(row: Row, signs: Mapping[str, Sign]) -> Iterator[Weighed]:
    for code, expected in row.expects.items():
        sign = signs[code]
        if sign.chance is not None:
            yield Weighed(sign, expected, _points(sign, expected))


def _points(sign: Sign, expected: str) -> float:
    """What a sign earns where it is expected so."""
    e, p = pattern_table()["expectation"][expected], sign.chance or 0.0
    return math.log2(2.0 * (p * e + (1.0 - p) * (1.0 - e)))


def _belief(codes: list[str], points: list[float]) -> dict[str, float]:
    """Each pattern's share: two to the power of the points of its best variant."""
    part = pattern_table()["weighing"]["share_of_evidence"]
    top = max(points)
    size = dict.fromkeys(codes, 0.0)
    for code, total in zip(codes, points, strict=True):
        size[code] = max(size[code], 2.0 ** (part * (total - top)))
    whole = sum(size.values())
    return {code: value / whole for code, value in size.items()}


def _pattern(
    row: Row, found: tuple[Weighed, ...], points: float, share: float, signs: Mapping[str, Sign]
) -> Pattern:
    shown = pattern_table()["weighing"]["shown_from"]
    telling = [w for w in found if w.points >= 0.0 if row.code == NORMAL or _speaks(w)]
    against = [w for w in found if w.points <= -shown]
    names = {"side": row.side or ""}
    return Pattern(
        code=row.code,
        side=row.side,
        variant=row.variant,
        title=row.title,
        text=row.entry["text"].format(**names),
        strength=strength_of(row, telling, against, share, signs),
        share=share,
        points=points,
        fit=tuple(sorted(_of_the_side(row, telling), key=lambda w: _rank(row, w))),
        against=tuple(sorted(against, key=lambda w: w.points)),
        open=tuple(_open(row, signs)),
        weighed=found,
        told_apart=row.entry["told_apart"],
        does_not_show=tuple(row.entry["does_not_show"]),
        cautions=tuple(caution(code) for code in row.entry.get("cautions", ())),
        side_told=is_told(row, signs),
    )


def _of_the_side(row: Row, telling: list[Weighed]) -> list[Weighed]:
    """Of a loss of one side, without what only speaks of both."""
    return [w for w in telling if row.side is None or "_both_" not in w.sign.code]


def _rank(row: Row, weighed: Weighed) -> tuple[bool, float]:
    """What names the side first, then what tells most."""
    names = {"right", "left"} & set(weighed.sign.code.split("_"))
    return row.side is not None and not names, -_lead(weighed)


def _speaks(weighed: Weighed) -> bool:
    """Whether a sign fits the pattern, and clearly better than it fits a healthy person."""
    return weighed.points >= 0.0 and _lead(weighed) >= pattern_table()["weighing"]["shown_from"]


def _lead(weighed: Weighed) -> float:
    """The points that a sign earns the pattern beyond what a healthy person would earn."""
    return weighed.points - _points(weighed.sign, pattern_table()["healthy"][weighed.sign.code])


def _open(row: Row, signs: Mapping[str, Sign]) -> Iterator[str]:
    """Titles of the signs that would tell this pattern from the healthy and were not tested."""
    for code, expected in row.expects.items():
        tells = expected in ("always", "usual") and expected != pattern_table()["healthy"][code]
        if signs[code].chance is None and tells:
            yield signs[code].title


def _as_strong_as(pattern: Pattern, most: str) -> Pattern:
    return replace(pattern, strength=weaker(pattern.strength, most))
