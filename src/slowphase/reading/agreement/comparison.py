"""What comparing tests with one another gives: verdict, words, evidence, numbers for a picture."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from slowphase.reading.agreement.battery import Battery
from slowphase.reading.statement import EvidenceItem

Agreeing = Literal["agree", "disagree", "cannot_tell", "not_tested"]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a picture: a value with its 95 % interval (None where it has none), and the
    interval that the other tests call for, in the panel's unit."""

    label: str
    value: float
    low: float | None = None
    high: float | None = None
    expected: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Panel:
    """Rows on one axis; ``unit`` is a UCUM code, ``ends`` what lies at its left and right end."""

    title: str
    unit: str
    rows: tuple[Row, ...]
    ends: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a comparison came out: the name of its text, the words that fill it, and what it rests
    on. ``trials`` are the ids of the trials that it looked at."""

    name: str
    words: Mapping[str, str] = field(default_factory=dict)
    evidence: tuple[EvidenceItem, ...] = ()
    panels: tuple[Panel, ...] = ()
    trials: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AgreementRule:
    """One question put to several tests: its stable code, and what judges it."""

    code: str
    judge: Callable[[Battery], Outcome]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Whether tests of one session agree in one matter.

    ``verdict`` is ``agree``, ``disagree``, ``cannot_tell`` (the intervals leave it open) or
    ``not_tested`` (the session lacks one of the tests). ``outcome`` names the text in
    ``agreements.toml``; ``heed`` is true for what is to be read in full although the tests agree,
    as a red herring is.
    """

    code: str
    title: str
    verdict: Agreeing
    outcome: str
    text: str
    heed: bool = False
    evidence: tuple[EvidenceItem, ...] = ()
    does_not_show: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    panels: tuple[Panel, ...] = ()
