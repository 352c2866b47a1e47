"""One thing that the session says, does not say, or cannot tell."""

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["holds", "does_not_hold", "cannot_tell"]


@dataclass(frozen=True, slots=True)
class EvidenceItem:
    """One measure that a statement rests on, the limit it was held against, and its source.

    ``measure`` is a measure's id; ``shown`` its value with interval and unit, as text.
    """

    measure: str
    shown: str
    limit: str | None = None
    source: str | None = None
    mark: str | None = None


@dataclass(frozen=True, slots=True)
class Statement:
    """One statement of the reading, with everything needed to audit it.

    ``code`` is stable; ``verdict`` says whether the finding holds; ``strength`` is ``firm``,
    ``moderate`` or ``weak``; ``does_not_show`` says what must not be concluded from it.
    ``shown`` is the verdict in the words that fit the title, ``finding`` what was looked for.
    ``urgent`` marks a possible central sign, which is read before all else. ``version`` is that of
    the rule's words and limits, ``sources`` say where they come from.
    """

    code: str
    title: str
    verdict: Verdict
    text: str
    strength: str
    evidence: tuple[EvidenceItem, ...] = ()
    cautions: tuple[str, ...] = ()
    does_not_show: tuple[str, ...] = ()
    shown: str = ""
    finding: str = ""
    urgent: bool = False
    version: int = 1
    sources: tuple[str, ...] = ()
