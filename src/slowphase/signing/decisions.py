"""What a signer decides on a reading: each statement is accepted, reworded or left out.

The statements themselves are not touched: a decision stands beside each, so that a second expert
sees what was there before.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from slowphase.foundation.errors import UsageError
from slowphase.recording.keys import is_plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from slowphase.reading.statement import Statement

Kind = Literal["accepted", "reworded", "dropped"]
SUMMARY = "summary"


@dataclass(frozen=True, slots=True)
class Decision:
    """One statement's fate; ``text`` is the new wording, or the reason for leaving it out."""

    kind: Kind
    text: str = ""


@dataclass(frozen=True, slots=True)
class Decisions:
    """Everything that a signer changes.

    ``reworded`` maps a statement's key (or ``summary``) to its new text, ``dropped`` to the reason
    for leaving it out; what is in neither is accepted. ``remark`` is the signer's own text.
    """

    reworded: Mapping[str, str] = field(default_factory=dict)
    dropped: Mapping[str, str] = field(default_factory=dict)
    remark: str = ""

    def on(self, key: str) -> Decision:
        """The decision on one statement."""
        if key in self.dropped:
            return Decision("dropped", self.dropped[key])
        if key in self.reworded:
            return Decision("reworded", self.reworded[key])
        return Decision("accepted")


def statement_keys(statements: Sequence[Statement]) -> tuple[str, ...]:
    """The name of each statement: its code; ``code:1``, ``code:2`` where several share it."""
    shared = Counter(statement.code for statement in statements)
    seen: Counter[str] = Counter()
    keys = []
    for statement in statements:
        seen[statement.code] += 1
        alone = shared[statement.code] == 1
        keys.append(statement.code if alone else f"{statement.code}:{seen[statement.code]}")
    return tuple(keys)


def check_decisions(decisions: Decisions, keys: Sequence[str]) -> None:
    """Raise `UsageError` where a decision names no statement, says nothing, or contradicts.

    ``keys`` are those of the reading's statements (`statement_keys`).
    """
    for name in decisions.dropped:
        _check_known(name, keys)
    for name in decisions.reworded:
        _check_known(name, (SUMMARY, *keys))
    for name, text in [*decisions.dropped.items(), *decisions.reworded.items()]:
        if not text.strip():
            raise UsageError(f"{name}: an empty text; write a reason, or the new wording")
    for name, text in [("remark", decisions.remark), *decisions.reworded.items(),
                       *decisions.dropped.items()]:  # fmt: skip
        if not is_plain(text):
            raise UsageError(f"{name}: {text[:40]!r} holds a control sign; write plain text")
    both = sorted(set(decisions.dropped) & set(decisions.reworded))
    if both:
        raise UsageError(f"{both[0]} is both dropped and reworded; choose one")


def _check_known(name: str, keys: Iterable[str]) -> None:
    known = list(keys)
    if name in known:
        return
    alike = [key for key in known if key.startswith(f"{name}:")]
    if alike:
        raise UsageError(f"{name} stands for several statements; name one of {', '.join(alike)}")
    raise UsageError(f"{name} is no statement of this reading; its statements: {', '.join(known)}")
