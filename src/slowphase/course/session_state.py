"""What a course says of each session: its pattern, and what makes its numbers doubtful."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.reading.patterns import Pattern

WRONG_WAY = ("wrong_way",)
REVERSED = ("response_reversed",)  # of a caloric ratio: a strong nystagmus does it, too
DROWSY = ("low_alertness",)
MIRRORED = ("mirrored", "mirrored_eye", "mirrored_chair")
NOT_INTERPRETABLE = "not_interpretable"


@dataclass(frozen=True, slots=True)
class SessionState:
    """One session of a course.

    ``pattern`` is the nearest pattern, None where none was read; ``told`` says whether it is
    named. ``warnings`` are codes of ``words.toml`` (``wrong_way``, ``response_reversed``,
    ``drowsy``, ``not_interpretable``), ``trials`` the trials that each of them is about.
    """

    pattern: Pattern | None
    told: bool
    warnings: tuple[str, ...] = ()
    trials: tuple[tuple[str, ...], ...] = ()


def state_of(analysis: Analysis) -> SessionState:
    """Pattern and warnings of one session, as its own reading found them."""
    reading = analysis.patterns
    nearest = reading.ranking[0] if reading.ranking else None
    found = tuple(_warnings(analysis, nearest))
    codes, trials = tuple(code for code, _ in found), tuple(ids for _, ids in found)
    return SessionState(nearest, reading.told, codes, trials)


def _warnings(analysis: Analysis, nearest: Pattern | None) -> Iterator[tuple[str, tuple[str, ...]]]:
    turned = _with_reason(analysis, WRONG_WAY)
    if turned or any(one.outcome in MIRRORED for one in analysis.agreements):
        yield "wrong_way", turned
    reversed_ = _with_reason(analysis, REVERSED)
    if reversed_:
        yield "response_reversed", reversed_
    spoilt = nearest is not None and nearest.code == NOT_INTERPRETABLE
    tired = _with_reason(analysis, DROWSY)
    session = any(one.code in DROWSY for one in analysis.incoherences)
    drowsy = spoilt and nearest is not None and nearest.variant == "drowsy"
    if tired or session or drowsy:
        yield "drowsy", tired
    if spoilt:
        yield NOT_INTERPRETABLE, ()


def _with_reason(analysis: Analysis, codes: tuple[str, ...]) -> tuple[str, ...]:
    """The trials and groups that carry one of these reasons, themselves or on a measure."""
    from slowphase.course.key import part_id

    wanted = set(codes)
    found = []
    for part in analysis.parts():
        quality = getattr(part, "quality", None)
        own = set(quality.why) if quality else set()
        if wanted & own.union(*(measure.why for measure in part.measures)):
            found.append(part_id(part))
    return tuple(found)
